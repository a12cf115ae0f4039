"""Standing still: where the noise of positions would otherwise count as a slow walk.

The length of a noisy velocity is never 0: where the horse stands, noise of variance s^2 on each axis reads as a speed
of s sqrt(pi / 2) on average, and the distance gone would grow with it for as long as the horse stands.
"""

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.smoother import Smoothed

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Whole = NDArray[np.int64]

ABOUT_S = 5.0
"""Look so long back and ahead."""
LEAST_M, MOST_M, SIGMAS = 2.0, 8.0, 3.0
"""It stands if it came no further in that time than the errors of both ends allow (so many standard deviations), within
these bounds. Ten seconds of a horse's walk are 15 m. Our own limits."""
SLOW_MS = 1.0
"""Whatever is faster than this does not stand. A horse walks at 1.5 to 2 m/s. Our own limit."""


def standing(time: Floats, stretch: Whole, way: Smoothed, own_speed: Floats) -> Flags:
    """Return which moments (n,) of a smoothed way are spent standing.

    Args:
        time: (n,) seconds, rising.
        stretch: (n,) number of the stretch.
        way: the smoothed way.
        own_speed: (n,) the receiver's own speed, m/s, NaN where not known.
    """
    begin = np.searchsorted(stretch, stretch)
    end = np.searchsorted(stretch, stretch, side="right") - 1
    before = np.clip(np.searchsorted(time, time - ABOUT_S, side="right") - 1, begin, None)
    after = np.clip(np.searchsorted(time, time + ABOUT_S), None, end)
    came = np.hypot(way.east_m[after] - way.east_m[before], way.north_m[after] - way.north_m[before])
    took = np.maximum(time[after] - time[before], 1e-3)
    allowed = np.clip(SIGMAS * np.sqrt(way.place_variance[after] + way.place_variance[before]), LEAST_M, MOST_M)
    still = (came * 2 * ABOUT_S <= allowed * took) & (way.speed_ms < SLOW_MS)
    return np.asarray(still & ~(own_speed > SLOW_MS))
