"""Where things stand in the arrays that the compiled walk goes through.

Compiled code is kept by the date of its own file, not of this one: after a change here touch those that import it.
"""

from typing import Final

USUAL, SLOPE, PASSING, UU, US, UP_, SS, SP, PP, SEEN, SPREAD, SPREAD_N, STATE = range(13)
"""A horse's state: its usual, how fast that grows, what will pass, their covariances, the day last seen, and sums that
tell how much more or less than others it varies."""

MEAN, VARIANCE, HIGH, LOW, ON, ON_DAY, LAST, CHART = range(8)
"""A chart: the weighted mean and its variance, both sums, which way it stands out (0 not at all), the day it began to,
and the day of its last reading."""

LEVEL, LEVEL_VARIANCE, LEVEL_DAY, DEVICE = range(4)
"""A device: by how much it reads high, the variance of that, and as of when."""

NOISE, PASS_VARIANCE, PASS_DAYS, WALK, CENTRE, BETWEEN, GROWTH, GROWTH_VARIANCE, YARD, BARN, NEW_DEVICE, DEVICE_WALK = (
    range(12)
)
"""What was learned of a kind: variances, but for the days after which what passes has fallen to 1/e, the yard's centre
and the mean growth a day."""
SIDE, SINGLE, WIDTH, LIMIT, G_SINGLE, G_WIDTH, G_LIMIT, VALUES = range(12, 20)
"""Which way it must go, then limits of horses and of groups: of one reading, of the weighted mean, of the sum."""

Z, EXPECTED, SD, OWN, SHARED, OF_BARN, RATIO, WAY, BEGAN, TOLD = range(10)
"""What is told of a reading: how far off in standard deviations; what was expected and its standard deviation; the
horse's usual; what yard, barn and device explain together, and the barn alone; how near the limit (1 is at it, with its
sign); whether and which way the chart stands out; the day it began to."""

G_DAY, G_GROUP, G_EFFECT, G_Z, G_RATIO, G_WAY, G_BEGAN, G_READ, G_BEYOND, G_BOUND, G_LEVEL, G_TOLD = range(12)
"""What is told of a group on a day: the effect and how far off; how many readings, how many of them more than two
standard deviations off; with which other group it cannot be told apart (-1 with none); and its level that day."""

EWMA_WEIGHT: Final = 0.2
"""Weight of the newest reading: a shift of one standard deviation is seen soonest by weights about here (Lucas and
Saccucci 1990)."""
ALLOWANCE: Final = 0.5
"""Half the shift that the sums look for, in standard deviations; the usual choice (Montgomery and Runger)."""
CLIP: Final = 3.0
"""A reading counts in mean and sum as at most so many standard deviations; alone it counts in full. Our own choice."""
