"""Work to come: a horse's plan up to its races, and the week of the string."""
