"""The way a horse went: places smoothed stretch by stretch, its speed, and the distance gone.

Distance is the integral of the smoothed speed. Adding up the steps between noisy places would make it too long: a step
of length d between places with independent errors of variance s^2 on each axis is on average about s^2 / d too long, so
that at a walk of 1.7 m/s, with fixes every second and an error of 1 m, a third of the distance would be made up. The
error of a distance between two moments is that of its ends, sqrt(position_sd_m[i]^2 + position_sd_m[j]^2).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.smoother import smoothed
from upsides.recordings.standing import standing
from upsides.recordings.stretches import Stretches

Floats = NDArray[np.float64]

LEAST_PLACES = 3
"""A stretch of fewer places says nothing of speed."""


@dataclass(frozen=True, slots=True, eq=False)
class Travelled:
    """The columns of a track that come of its places, (m,) each; NaN in gaps, where the distance waits."""

    east_m: Floats
    north_m: Floats
    position_sd_m: Floats
    speed_ms: Floats
    speed_sd_ms: Floats
    along_m: Floats
    used: int


def nowhere(moments: int) -> Travelled:
    """Return what is said of a track without places."""
    east, north, place_sd, speed, speed_sd, along = np.full((6, moments), np.nan)
    return Travelled(east, north, place_sd, speed, speed_sd, along, 0)


def travelled_of(
    time: Floats, stretches: Stretches, east: Floats, north: Floats, own_speed: Floats, accuracy: Floats
) -> Travelled:
    """Return the way of a track.

    Args:
        time: (m,) seconds, rising.
        stretches: its stretches.
        east: (m,) metres, NaN where there is no place, or none that can be.
        north: (m,) the same.
        own_speed: (m,) the receiver's own, m/s, NaN where not known.
        accuracy: (m,) what the receiver states of its error, m, NaN where it does not.
    """
    inside = np.flatnonzero(stretches.inside)
    number, when, first = stretches.number[inside], time[inside], stretches.first
    way = smoothed(when, first, east[inside], north[inside], speed=own_speed[inside], accuracy=accuracy[inside])
    still = standing(when, number, way, own_speed[inside])
    speed = np.where(still, 0.0, way.speed_ms)
    enough = np.bincount(number, way.used)[number] >= LEAST_PLACES
    steps = np.r_[0.0, np.diff(when) * (speed[1:] + speed[:-1]) / 2]
    steps[first | ~enough] = 0.0
    gone = np.cumsum(steps)
    along = np.r_[0.0, gone][np.searchsorted(inside, np.arange(time.size), side="right")]
    columns = [way.east_m, way.north_m, np.sqrt(way.place_variance), speed, np.sqrt(way.speed_variance)]
    spread = np.full((len(columns), time.size), np.nan)
    for column, values in zip(spread, columns, strict=True):
        column[inside[enough]] = values[enough]
    east_m, north_m, place_sd, speed_ms, speed_sd = spread
    return Travelled(east_m, north_m, place_sd, speed_ms, speed_sd, along, int(way.used.sum()))
