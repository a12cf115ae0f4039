"""An invented country: its ground from day to day, how its horses grow, its weight for age."""

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from upsides.demo.courses import Course

FURLONG_M = 201.168
TURF_GOING = ("firm", "good to firm", "good", "good to soft", "soft", "heavy")
SYNTHETIC_GOING = ("standard to fast", "standard", "standard to slow")


@dataclass(frozen=True, slots=True)
class Ground:
    """The ground of one day.

    Args:
        going: as it is announced.
        softness: steps away from good or standard; positive is softer.
        lengths_per_second: how many lengths make a second on it.
    """

    going: str
    softness: float
    lengths_per_second: float


def ground_of_day(rng: np.random.Generator, course: Course, day: date) -> Ground:
    """Draw the ground: wet in the dark months, quick in summer, synthetic always near its standard.

    Lengths to the second: 6 on good or quicker and on synthetic, 5.5 on good to soft, 5 on softer (British
    scale from June 2008 as restated in 2012).
    """
    if course.surface == "synthetic":
        softness = float(np.clip(rng.normal(0.0, 0.6), -1.2, 1.2))
        return Ground(SYNTHETIC_GOING[round(softness) + 1], softness, 6.0)
    season = np.cos(2 * np.pi * (day.timetuple().tm_yday - 15) / 365.25)
    softness = float(np.clip(rng.normal(0.7 + 0.9 * season, 1.0), -2.0, 3.0))
    step = round(softness)
    return Ground(TURF_GOING[step + 2], softness, 6.0 if step <= 0 else 5.5 if step == 1 else 5.0)


def pounds_per_length(distance_m: float) -> float:
    """Return the lb that one length stands for: 15 over the distance in furlongs (a smooth rule)."""
    return 15.0 / (distance_m / FURLONG_M)


def growth_gap(age_years: NDArray[np.float64], distance_m: float) -> NDArray[np.float64]:
    """Return how many pounds below its mature self an average horse of this age is over this distance.

    A straight line to nothing at about four years, steeper for longer trips: shaped after European
    practice, with values of our own (the country is invented).

    Args:
        age_years: years since 1 January of the year of foaling, any shape.
        distance_m: distance in metres.

    Returns:
        Pounds, at least 0, same shape as `age_years`.
    """
    furlongs = distance_m / FURLONG_M
    grown_at = 3.65 + 0.035 * furlongs
    at_three = 8.5 + 1.4 * furlongs
    return np.maximum(0.0, at_three * (grown_at - age_years) / (grown_at - 3.0))


def allowance(age: int, day: date, distance_m: float) -> float:
    """Return the country's weight for age in whole lb by half month, for a horse of official `age`."""
    half_month = (day.month - 1) * 2 + (0 if day.day <= 15 else 1)
    middle = age + (half_month + 0.5) / 24
    return float(np.round(growth_gap(np.array([middle]), distance_m)[0]))
