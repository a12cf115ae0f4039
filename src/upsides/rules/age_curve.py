"""The published curve of performance over age, as lengths below the peak."""

from datetime import date

import numpy as np
from numpy.typing import ArrayLike, NDArray

from upsides.rules.jurisdictions import ANYWHERE
from upsides.rules.lookup import NONE, Overrides, in_force
from upsides.rules.rule import Rule
from upsides.trade.units import YARD_M


def lengths_below_peak(
    age_years: ArrayLike, distance_m: ArrayLike, on: date, *, overrides: Overrides = NONE
) -> tuple[NDArray[np.float64], Rule]:
    """Return how far a horse is on average below its best at an age, (n,) lengths, and the rule.

    The deficit is quadratic in age on each side of the peak at 4.45 years and meets the published ends: 10
    lengths at two in sprints and 15 from a mile on, 6 and 9.5 lengths five years after the peak. Use it as a
    prior, not as a measurement: the horses behind it raced at least 45 times.

    Args:
        age_years: (n,) age in years, fractions allowed.
        distance_m: (n,) distance in metres, or one for all.
        on: a day on which the curve is in force.
        overrides: the yard's own rules.

    Source: Gramm and Marksteiner 2010, Journal of Equine Science 21:73.
    """
    entry = in_force("age curve", ANYWHERE, on, overrides)[0]
    body = entry.body
    age, metres = np.broadcast_arrays(
        np.atleast_1d(np.asarray(age_years, dtype=np.float64)), np.asarray(distance_m, dtype=np.float64)
    )
    route = metres >= body["route_from_yards"] * YARD_M
    rise = np.where(route, body["rise"]["route"], body["rise"]["sprint"])
    fall = np.where(route, body["fall"]["route"], body["fall"]["sprint"])
    before = rise * ((body["peak_age"] - age) / (body["peak_age"] - body["young_age"])) ** 2
    after = fall * ((age - body["peak_age"]) / body["old_span"]) ** 2
    return np.where(age < body["peak_age"], before, after), entry.rule
