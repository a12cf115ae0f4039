"""How the heart comes down after work.

Recovery depends on the resting rate and on how the horse is pulled up (Animals 10:120), and predicted racing weakly
among 485 horses (Animals 14:1342): it is a horse's own trend, nothing else.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from upsides.errors.wording import gettext as _
from upsides.recordings.track import Track

Floats = NDArray[np.float64]
AFTER_S: Final = (60.0, 120.0, 300.0)
"""When the heart is read after a piece of work ended."""
WITHIN_S: Final = 5.0
"""It is the median of so many seconds on either side. Our own choice."""
QUIET_MS: Final = 5.0
"""A horse that goes faster than this again has not been left to recover (trot to canter in Arabians about 5.0 m/s,
Wickler et al. 2002)."""


@dataclass(frozen=True, slots=True)
class Recovered:
    """The heart at a time after work.

    Attributes:
        after_s: how long after it.
        bpm: beats a minute; NaN where it cannot be said.
        why_not: why it cannot; "" where it can.
    """

    after_s: float
    bpm: float
    why_not: str = ""


def recovery(track: Track, end_s: float, after_s: tuple[float, ...] = AFTER_S) -> tuple[Recovered, ...]:
    """Return the heart at times after a piece of work that ended at `end_s`, seconds since 1970-01-01 UTC."""
    return tuple(_at(track, end_s, after) for after in after_s)


def _at(track: Track, end_s: float, after: float) -> Recovered:
    between = (track.time_s > end_s) & (track.time_s <= end_s + after)
    if not between.any() or track.time_s[-1] < end_s + after:
        return Recovered(after, np.nan, _("the recording ends before"))
    if np.nanmax(np.r_[0.0, track.speed_ms[between & (track.time_s > end_s + WITHIN_S)]]) > QUIET_MS:
        return Recovered(after, np.nan, _("it went on to canter"))
    near = np.abs(track.time_s - (end_s + after)) <= WITHIN_S
    kept = track.heart_bpm[near & np.isfinite(track.heart_bpm)]
    if kept.size == 0:
        return Recovered(after, np.nan, _("no heart rate was kept then"))
    return Recovered(after, float(np.median(kept)))
