"""How wide a range is, in standard deviations of a normal distribution."""

INNER = 0.6745
"""Either side of the middle, holds one time in two."""

WIDE = 1.2816
"""Either side of the middle, holds four times in five."""
