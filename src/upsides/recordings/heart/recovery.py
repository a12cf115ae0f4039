"""How the heart comes down after work, and the highest that it held.

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
HELD_S: Final = 10
"""For how long a highest rate is held, in whole seconds. Our own choice."""
MOST_S: Final = 7 * 86400
"""A recording that lasts longer than a week is no morning."""


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


def highest_held(track: Track, held_s: int = HELD_S) -> float:
    """Return the highest heart rate held for some seconds, the median over them; NaN where none was.

    Seconds are whole ones from the first on, each the mean of what was kept in it; four fifths of them must be there.
    """
    rows = np.flatnonzero(np.isfinite(track.heart_bpm))
    if rows.size == 0:
        return float("nan")
    second = (track.time_s[rows] - track.time_s[rows[0]]).astype(np.int64)
    if second[-1] > MOST_S:
        return float("nan")
    count = np.bincount(second, minlength=held_s)
    total = np.bincount(second, track.heart_bpm[rows], minlength=held_s)
    mean = np.where(count > 0, total / np.maximum(count, 1), np.nan)
    windows = np.lib.stride_tricks.sliding_window_view(mean, held_s)
    whole = windows[np.isfinite(windows).sum(axis=1) >= 0.8 * held_s]
    return float(np.nanmedian(whole, axis=1).max()) if len(whole) else float("nan")
