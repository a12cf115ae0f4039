"""How a horse gets over its way: speed within what it can do, gradient and all; and what that makes of it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.demo.morning_sim.ground import height_m
from upsides.demo.morning_sim.mover import Mover
from upsides.demo.morning_sim.noise import drifting
from upsides.demo.morning_sim.programme import Leg

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

RATE_HZ = 10.0
"""Truth is kept ten times a second."""

GAIN_MS2, LOSE_MS2 = 1.1, 0.8
"""How fast a ridden horse gains and loses speed, m/s^2; common practice, no source."""

UP_PER_FRACTION, DOWN_PER_FRACTION = 4.09, 2.71
"""Share of speed lost per unit of gradient: 0.68 m/s per +1 % and 0.45 per -1 % of race speed (Self et al. 2012),
taken against the 16.63 m/s of Morrice-West et al. 2021."""

UNEVEN, UNEVEN_M = 0.02, 80.0
"""How unevenly a horse goes, share of its speed, and over how many metres; common practice, no source."""

EASE_S = 3.0
"""Over how long a stop or a start is eased, s; common practice, no source."""

STEP_M = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """The way of a morning, and where a horse is on it: (k,) moments, `RATE_HZ` a second.

    Attributes:
        time_s: seconds since the start.
        place_m: metres gone.
        speed_ms: m/s.
        leg: number of the leg.
        line_m: (n,) metres along the way of its points.
        east_m: (n,) metres east of them.
        north_m: (n,) metres north.
    """

    time_s: Floats
    place_m: Floats
    speed_ms: Floats
    leg: Ints
    line_m: Floats
    east_m: Floats
    north_m: Floats

    def at(self, place_m: Floats, right_m: Floats | float = 0.0) -> tuple[Floats, Floats]:
        """Return metres east and north of places on the way, so many metres to the right of it."""
        east = np.interp(place_m, self.line_m, self.east_m)
        north = np.interp(place_m, self.line_m, self.north_m)
        heading = np.unwrap(np.arctan2(np.gradient(self.east_m), np.gradient(self.north_m)))
        way = np.interp(place_m, self.line_m, heading)
        return east + right_m * np.cos(way), north - right_m * np.sin(way)


def _points(legs: list[Leg]) -> tuple[Floats, Floats, Floats, Ints]:
    """Return the way's points every half metre: metres along, east, north, number of the leg."""
    east = np.concatenate([leg.line[0] for leg in legs])
    north = np.concatenate([leg.line[1] for leg in legs])
    number = np.concatenate([np.full(leg.line[0].size, k) for k, leg in enumerate(legs)])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(east), np.diff(north)))])
    fine = np.arange(0.0, along[-1], STEP_M)
    leg = number[np.searchsorted(along, fine, side="right") - 1]
    return fine, np.interp(fine, along, east), np.interp(fine, along, north), leg


def slowed(gradient: Floats) -> Floats:
    """Return what is left of a speed, as a share, on a gradient."""
    loss = np.where(gradient > 0, UP_PER_FRACTION * gradient, -DOWN_PER_FRACTION * gradient)
    return 1.0 - np.minimum(loss, 0.5)


def within_reach(wanted_ms: Floats, step_m: float) -> Floats:
    """Return the highest speeds below those wanted that a horse can do: v^2 gains and loses at most 2 a ds."""
    gained = 2.0 * GAIN_MS2 * step_m * np.arange(wanted_ms.size)
    lost = 2.0 * LOSE_MS2 * step_m * np.arange(wanted_ms.size)
    forward = np.minimum.accumulate(wanted_ms**2 - gained) + gained
    backward = np.minimum.accumulate((forward + lost)[::-1])[::-1] - lost
    return np.asarray(np.sqrt(backward))


def travel(rng: np.random.Generator, legs: list[Leg]) -> Way:
    """Send a horse over its legs."""
    line, east, north, leg = _points(legs)
    gradient = np.gradient(height_m(east, north), STEP_M)
    wanted = np.array([each.target_ms for each in legs])[leg] * slowed(gradient)
    wanted *= 1.0 + drifting(rng, line.size, UNEVEN, UNEVEN_M / STEP_M)
    speed = within_reach(np.maximum(wanted, 0.8), STEP_M)
    took = np.concatenate([[0.0], np.cumsum(STEP_M / (0.5 * (speed[1:] + speed[:-1])))])
    stands = np.array([each.stand_s for each in legs])
    before = np.concatenate([[0.0], np.cumsum(stands)])[leg]
    arrived = took + before
    last = np.flatnonzero(np.append(leg[1:] != leg[:-1], True))
    time = np.concatenate([arrived, arrived[last] + stands[leg[last]]])
    place = np.concatenate([line, line[last]])
    order = np.argsort(time, kind="stable")
    moments = np.arange(0.0, time[order[-1]], 1.0 / RATE_HZ)
    gone = eased(np.interp(moments, time[order], place[order]))
    return Way(moments, gone, np.gradient(gone, 1.0 / RATE_HZ), leg[_index(gone, line)], line, east, north)


def eased(gone: Floats) -> Floats:
    """Smooth (k,) metres gone over `EASE_S`: a horse neither stops nor starts dead."""
    window = np.hanning(round(EASE_S * RATE_HZ) | 1)
    half = window.size // 2
    return np.convolve(np.pad(gone, half, mode="edge"), window / window.sum(), "valid")


def _index(gone: Floats, line: Floats) -> Ints:
    return np.clip(np.searchsorted(line, gone, side="right") - 1, 0, line.size - 1)


STAND, WALK, TROT, CANTER, FAST = range(5)


def gaits(mover: Mover, speed_ms: Floats) -> Ints:
    """Return the true gait of every tenth of a second.

    A horse changes down at a tenth less than it changes up; fast is from 14 m/s until below 13 (the split of British
    fracture work, Verheyen et al. 2006, with a metre a second of slack).
    """
    up = np.array([0.35, mover.to_trot_ms, mover.to_canter_ms, 14.0])
    down = np.array([0.3, 0.9 * mover.to_trot_ms, 0.9 * mover.to_canter_ms, 13.0])
    least = np.searchsorted(up, speed_ms, side="right")
    most = np.searchsorted(down, speed_ms, side="right")
    out = np.empty(speed_ms.size, dtype=np.int64)
    now = 0
    for k, (low, high) in enumerate(zip(least.tolist(), most.tolist(), strict=True)):
        now = min(max(now, low), high)
        out[k] = now
    return out
