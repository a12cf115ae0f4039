"""How far a horse had gone at each moment of a bout, and how well that is known.

Errors of speed last: the smoothed speed of a track is wrong in the same direction for some seconds. They are taken as
a first-order Gauss-Markov process of standard deviation s and memory m, so that the metres gone in T seconds have
variance

    2 s^2 m (T - m (1 - exp(-T / m)))

(the integral of its autocovariance), with s^2 the mean over the time. Where positions are known, the metres between two
moments are not worse known than both places and what the receiver's lasting error of position changes meanwhile,
2 L^2 (1 - exp(-T / M)); the smaller of the two variances counts.
"""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.bouts.bout import Bout
from upsides.recordings.track import Track

Floats = NDArray[np.float64]

MEMORY_S = 1.6
"""How long an error of speed lasts, s: engineering choice, held by how often true furlong times of simulated mornings
lie within two standard deviations."""

LASTING_M, LASTING_S = 2.5, 45.0
"""Standard deviation along the way of the receiver's error of position that lasts and that no smoothing sees, m, and
how long it lasts, s; common practice, no source."""

UNPLACED_M = 1e6


@dataclass(frozen=True, slots=True, eq=False)
class Along:
    """The moments of one bout, n of them, its first and last included.

    Attributes:
        time_s: (n,) seconds since 1970, rising.
        along_m: (n,) metres gone, never falling.
        speed_ms: (n,) m/s.
        speed_sd_ms: (n,) its standard deviation.
        place_sd_m: (n,) standard deviation of the place; `UNPLACED_M` where positions are not known.
        height_m: (n,) metres above sea level; NaN where not known.
        variance: (n,) the integral of the speed's variance since the bout's start, m^2/s.
    """

    time_s: Floats
    along_m: Floats
    speed_ms: Floats
    speed_sd_ms: Floats
    place_sd_m: Floats
    height_m: Floats
    variance: Floats = field(init=False)

    def __post_init__(self) -> None:
        square = self.speed_sd_ms**2
        steps = np.diff(self.time_s) * 0.5 * (square[1:] + square[:-1])
        object.__setattr__(self, "variance", np.concatenate([[0.0], np.cumsum(steps)]))

    @property
    def metres(self) -> float:
        """How far it went."""
        return float(self.along_m[-1] - self.along_m[0])

    def gone(self, moments: Floats) -> Floats:
        """Return metres gone by each moment."""
        return np.interp(moments, self.time_s, self.along_m)

    def when(self, along_m: Floats) -> Floats:
        """Return the moments at which so many metres had been gone; NaN beyond the bout."""
        return np.interp(along_m, self.along_m, self.time_s, left=np.nan, right=np.nan)

    def speed_at(self, moments: Floats) -> Floats:
        """Return the speed at each moment, m/s."""
        return np.interp(moments, self.time_s, self.speed_ms)

    def gone_sd(self, begin_s: Floats, end_s: Floats) -> Floats:
        """Return the standard deviation of the metres gone between moments, m."""
        of_speed = np.interp(end_s, self.time_s, self.variance) - np.interp(begin_s, self.time_s, self.variance)
        long = np.maximum(end_s - begin_s, 1e-9) / MEMORY_S
        from_speed = 2.0 * MEMORY_S * of_speed * (1.0 + np.expm1(-long) / long)
        places = np.interp(begin_s, self.time_s, self.place_sd_m) ** 2
        places = places + np.interp(end_s, self.time_s, self.place_sd_m) ** 2 + lasting_change(end_s - begin_s) ** 2
        return np.asarray(np.sqrt(np.minimum(from_speed, places)))

    def took_sd(self, begin_s: Floats, end_s: Floats) -> Floats:
        """Return the standard deviation, s, of the time between moments as the time of that length of ground."""
        return self.gone_sd(begin_s, end_s) / np.maximum(self.speed_at(end_s), 0.3)


def lasting_change(seconds: Floats) -> Floats:
    """Return by how many metres, one standard deviation, the receiver's lasting error changes in some seconds."""
    return np.asarray(LASTING_M * np.sqrt(-2.0 * np.expm1(-seconds / LASTING_S)))


def along_of(track: Track, bout: Bout) -> Along:
    """Cut a bout out of its track, with its first and last moment between fixes where need be."""
    first, last = np.searchsorted(track.time_s, [bout.start_s, bout.end_s])
    part = slice(max(int(first) - 1, 0), int(last) + 1)
    known = np.isfinite(track.speed_ms[part]) & np.isfinite(track.along_m[part])
    moments = track.time_s[part][known]
    inner = moments[(moments > bout.start_s) & (moments < bout.end_s)]
    time = np.concatenate([[bout.start_s], inner, [bout.end_s]])

    def cut(values: Floats) -> Floats:
        return np.asarray(np.interp(time, moments, values[part][known]))

    place_sd = np.nan_to_num(cut(track.position_sd_m), nan=UNPLACED_M)
    along = np.maximum.accumulate(cut(track.along_m))
    return Along(time, along, cut(track.speed_ms), cut(track.speed_sd_ms), place_sd, cut(track.height_m))
