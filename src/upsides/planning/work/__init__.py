"""A horse's work to its races: the routine, the plan nearest to it that keeps every limit, a whole string at once."""
