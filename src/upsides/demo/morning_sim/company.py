"""Two horses that work together: side by side, one a little in front, one home first."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from upsides.demo.morning_sim.mover import Mover
from upsides.demo.morning_sim.moving import RATE_HZ, Way, eased, travel
from upsides.demo.morning_sim.programme import Leg
from upsides.demo.morning_sim.truth import Truth, on_way

Floats = NDArray[np.float64]

APART_M = 2.2
"""How far apart, side by side, two horses work; common practice, no source."""

FILE_M = 6.0
"""How far behind the other a horse walks in single file; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Company:
    """How the second horse of a pair stands to the first in its works.

    Attributes:
        jump_m: by how much it is in front when they jump off, m; below nought it is behind.
        home_m: by how much it is in front at the finish.
    """

    jump_m: float
    home_m: float


def draw_company(rng: np.random.Generator) -> Company:
    """Draw a pair's work: about level to begin with, and a length or so between them at the end."""
    return Company(float(rng.normal(-0.5, 1.0)), float(rng.normal(0.0, 2.4)))


def in_front(way: Way, legs: list[Leg], company: Company) -> Floats:
    """Return (k,) metres by which the second horse is in front: in file between works, as agreed in them."""
    on = np.array([bool(leg.gallop) for leg in legs])
    moments, ahead = [0.0], [-FILE_M]
    for number in np.flatnonzero(on & ~np.append(False, on[:-1])):
        last = number + int(np.argmin(np.append(on[number:], False))) - 1
        begins = way.time_s[np.searchsorted(way.leg, number)]
        ends = way.time_s[np.searchsorted(way.leg, last, side="right") - 1]
        lining_up = min(20.0, 0.5 * (begins - moments[-1]))
        moments += [begins - lining_up, begins, ends, ends + 40.0]
        ahead += [-FILE_M, company.jump_m, company.home_m, -FILE_M]
    return eased(np.interp(way.time_s, moments, ahead))


def pair(
    rng: np.random.Generator, first: Mover, second: Mover, legs: list[Leg], company: Company, start_s: float
) -> tuple[Truth, Truth]:
    """Ride two horses together over the same legs; the first sets the pace."""
    way = travel(rng, legs)
    ahead = in_front(way, legs, company)
    place = np.maximum.accumulate(np.maximum(way.place_m + ahead, 0.0))
    other = replace(way, place_m=place, speed_ms=np.gradient(place, 1.0 / RATE_HZ))
    half = 0.5 * APART_M
    return (
        on_way(rng, first, way, legs, start_s, right_m=-half, ahead_m=way.place_m - place),
        on_way(rng, second, other, legs, start_s, right_m=half, ahead_m=place - way.place_m),
    )
