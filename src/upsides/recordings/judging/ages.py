"""Horses of different ages in one work: what lies between them by age alone.

Levels have weight for age in them, works have not: a young horse that is held level with an older one of the same level
does more than that one. So a gap is read with what the scale allows each for its age, as if they had met in a race over
the distance of the work that day; where the jurisdiction has no scale, with what the published curve over age says, as
levels are.
"""

from datetime import date
from typing import Final

import numpy as np
from numpy.typing import NDArray

from upsides.rules import NONE, Overrides, lengths_below_peak, pounds_per_length_array, weight_for_age_lb
from upsides.trade.units import FURLONG_M

Floats = NDArray[np.float64]

SHORTEST_M: Final = 5 * FURLONG_M
"""Scales begin at five furlongs; a shorter work is read as one of five."""
SHARE: Final = 0.2
"""A difference by age is wrong by so much of itself, one standard deviation: scales are for races, and young horses
differ in how forward they are. Own choice."""


def age_lb(
    jurisdiction: str, on: date, metres: float, age: int, other: int, *, overrides: Overrides = NONE
) -> tuple[float, float] | None:
    """Return the pounds that a horse is allowed more than another for its age, and the standard deviation of that.

    Args:
        jurisdiction: whose scale, a name or country code.
        on: the day of the work.
        metres: how far they worked.
        age: of the horse, official, in years.
        other: of the other.
        overrides: the yard's own rules.

    Returns:
        The pounds; None where they differ in age and the scale says nothing of one of them.
    """
    if age == other:
        return 0.0, 0.0
    days, far = np.array([on, on], dtype="datetime64[D]"), np.full(2, max(metres, SHORTEST_M))
    allowed, report = weight_for_age_lb(jurisdiction, days, far, np.array([age, other]), overrides=overrides)
    if report.no_rule == report.rows:
        allowed = _growing(on, far, np.array([age, other]), overrides)
    elif report.outside:
        return None
    more = float(allowed[0] - allowed[1])
    return more, SHARE * abs(more)


def _growing(on: date, metres: Floats, age: NDArray[np.int64], overrides: Overrides) -> Floats:
    """Return what the published curve expects horses of some ages (n,) to lack still, lb; an age is its middle."""
    from upsides.ratings.levels.performances import PEAK_AGE

    middle = age + 0.5
    below, _ = lengths_below_peak(middle, metres, on, overrides=overrides)
    worth, _ = pounds_per_length_array(metres, on, overrides=overrides)
    return np.where(middle < PEAK_AGE, below * worth, 0.0)
