"""How far and in how many strides a horse went at each speed, in steps of half a metre a second.

There is no agreed split between canter and fast work, so that distance is kept in fine steps of speed and any split can
be applied afterwards (exercise-science 2.1).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.bouts.along import Along
from upsides.recordings.bouts.strides import Striding, stride_length

Floats = NDArray[np.float64]

STEP_MS = 0.5

COUNT = 44
"""Up to 22 m/s; what is faster is counted in the last step."""


@dataclass(frozen=True, slots=True, eq=False)
class Bins:
    """Distance and strides by speed: `COUNT` steps, the k-th from k / 2 to (k + 1) / 2 m/s.

    Attributes:
        metres: (COUNT,) metres gone at each.
        seconds: (COUNT,) seconds.
        strides: (COUNT,) strides made; NaN where they cannot be told (walk and trot, unless recorded).
        counted: share of the seconds whose strides were measured; of the others they are estimated from the published
            length of a stride by speed.
    """

    metres: Floats
    seconds: Floats
    strides: Floats
    counted: float

    def metres_above(self, speed_ms: float) -> float:
        """Return metres gone above a split, which is taken at the nearest step."""
        return float(self.metres[round(speed_ms / STEP_MS) :].sum())

    def strides_above(self, speed_ms: float) -> float:
        """Return strides made above a split; NaN where some of them cannot be told."""
        return float(self.strides[round(speed_ms / STEP_MS) :].sum())


def binned(along: Along, striding: Striding | None = None, most_ms: float = np.inf) -> Bins:
    """Sort a bout's metres, seconds and strides by speed.

    The error of the speeds spreads each step over its neighbours by about their standard deviation.

    Args:
        along: the bout.
        striding: its measured strides, where the recording holds them.
        most_ms: no horse goes faster in such a bout; what seems to is the receiver's error, and counts at this speed.
    """
    metres, seconds = np.diff(along.along_m), np.diff(along.time_s)
    speed = np.divide(metres, seconds, out=np.zeros_like(metres), where=seconds > 0)
    speed = np.minimum(speed, most_ms)
    place = np.clip((speed / STEP_MS).astype(np.int64), 0, COUNT - 1)
    strides = metres / stride_length(speed)
    counted = np.zeros(metres.size, dtype=np.bool_)
    if striding is not None:
        rate = striding.rate_at(0.5 * (along.time_s[1:] + along.time_s[:-1]))
        counted = np.isfinite(rate)
        strides = np.where(counted, rate * seconds, strides)

    def summed(values: Floats) -> Floats:
        return np.bincount(place, weights=values, minlength=COUNT).astype(np.float64)

    share = float(seconds[counted].sum() / seconds.sum()) if seconds.sum() > 0 else 0.0
    return Bins(summed(metres), summed(seconds), summed(np.where(metres > 0, strides, 0.0)), share)
