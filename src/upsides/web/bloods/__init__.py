"""Blood samples of a horse: entering what a laboratory reports, and looking at it over time."""
