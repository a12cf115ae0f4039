"""What truly happened in a simulated morning."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.demo.morning_sim.ground import height_m
from upsides.demo.morning_sim.heart import beating
from upsides.demo.morning_sim.mover import Mover
from upsides.demo.morning_sim.moving import RATE_HZ, Way, gaits, travel
from upsides.demo.morning_sim.programme import Leg
from upsides.demo.morning_sim.striding import phase, stride_rate

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class TrueWork:
    """A leg on a gallop.

    Attributes:
        doing: "hack", "half" or "fast".
        gallop: where.
        start_s: when the leg began, seconds since 1970.
        end_s: when it ended.
        begin_m: where on the gallop's line it began, m.
        forward: whether it went the way of the line.
    """

    doing: str
    gallop: str
    start_s: float
    end_s: float
    begin_m: float
    forward: bool


@dataclass(frozen=True, slots=True, eq=False)
class Truth:
    """One horse's morning, (k,) moments, ten a second.

    Attributes:
        mover: the horse.
        time_s: seconds since 1970-01-01 UTC.
        place_m: metres gone along its way.
        east_m: metres east of the point of `ground.PLANE`.
        north_m: metres north.
        height_m: metres above sea level.
        gradient: rise over run along the way.
        speed_ms: m/s.
        gait: 0 stand, 1 walk, 2 trot, 3 canter, 4 fast.
        heart_bpm: beats a minute.
        stride_hz: strides a second.
        strides: strides made.
        works: the legs on gallops.
        ahead_m: (k,) by how much it was in front of the horse that it went with, m; all NaN for a horse alone.
    """

    mover: Mover
    time_s: Floats
    place_m: Floats
    east_m: Floats
    north_m: Floats
    height_m: Floats
    gradient: Floats
    speed_ms: Floats
    gait: Ints
    heart_bpm: Floats
    stride_hz: Floats
    strides: Floats
    works: tuple[TrueWork, ...]
    ahead_m: Floats


def ridden(rng: np.random.Generator, mover: Mover, legs: list[Leg], start_s: float) -> Truth:
    """Ride a horse alone over its legs, from `start_s` (seconds since 1970)."""
    way = travel(rng, legs)
    return on_way(rng, mover, way, legs, start_s, right_m=0.0, ahead_m=np.full(way.time_s.size, np.nan))


def on_way(
    rng: np.random.Generator,
    mover: Mover,
    way: Way,
    legs: list[Leg],
    start_s: float,
    *,
    right_m: Floats | float,
    ahead_m: Floats,
) -> Truth:
    """Say everything of a horse of which the way is known.

    Args:
        rng: source of chance.
        mover: the horse.
        way: where it was when.
        legs: what it was to do.
        start_s: when the way began, seconds since 1970.
        right_m: how far to the right of the way it went.
        ahead_m: (k,) by how much it was in front of its company.
    """
    east, north = way.at(way.place_m, right_m)
    height = height_m(east, north)
    steps = np.maximum(np.gradient(way.place_m), 1e-3)
    gradient = np.where(way.speed_ms > 0.3, np.gradient(height) / steps, 0.0)
    gait = gaits(mover, way.speed_ms)
    stride = stride_rate(mover, way.speed_ms, gait)
    return Truth(
        mover=mover,
        time_s=start_s + way.time_s,
        place_m=way.place_m,
        east_m=east,
        north_m=north,
        height_m=height,
        gradient=gradient,
        speed_ms=way.speed_ms,
        gait=gait,
        heart_bpm=beating(rng, mover, way.speed_ms, gradient, RATE_HZ),
        stride_hz=stride,
        strides=phase(stride, RATE_HZ),
        works=works_of(way, legs, start_s),
        ahead_m=ahead_m,
    )


def works_of(way: Way, legs: list[Leg], start_s: float) -> tuple[TrueWork, ...]:
    """Return the legs that were on gallops, with when each began and ended."""
    found = []
    for number, leg in enumerate(legs):
        during = np.flatnonzero(way.leg == number)
        if leg.gallop and during.size:
            first, last = way.time_s[during[0]], way.time_s[during[-1]]
            onward = leg.end_m >= leg.begin_m
            found.append(TrueWork(leg.doing, leg.gallop, start_s + first, start_s + last, leg.begin_m, onward))
    return tuple(found)
