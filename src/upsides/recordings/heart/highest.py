"""The highest that a heart held, and whether a recording can tell it.

A heart is highest in the fastest work. Where no rates were kept there, the highest of the others says nothing of it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from upsides.recordings.recording import Message
from upsides.recordings.track import Track
from upsides.trade.units import FURLONG_M

HELD_S: Final = 10
"""For how long a highest rate is held, in whole seconds. Our own choice."""
MOST_S: Final = 7 * 86400
"""A recording that lasts longer than a week is no morning."""
LEAST_SHARE: Final = 0.5
"""So much of the fastest work must have a heart rate near, else no highest is told. Our own choice."""
NEAR_S: Final = 5.0
"""So near, or as far apart as the device writes them, a rate stands for a moment. Our own choice."""


@dataclass(frozen=True, slots=True)
class Effort:
    """A stretch of canter or fast work.

    Attributes:
        kind: canter or fast.
        start_s: when it began, seconds since 1970-01-01 UTC.
        end_s: when it ended.
    """

    kind: str
    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True)
class Highest:
    """The highest of a heart.

    Attributes:
        bpm: the highest rate, beats a minute; NaN where it cannot be said.
        held: the highest held for ten seconds; NaN as that, and where none was.
        said: why neither can be said; empty where it can.
    """

    bpm: float
    held: float
    said: tuple[Message, ...] = ()


def highest(track: Track, efforts: Sequence[Effort]) -> Highest:
    """Return the highest of a heart; without any rate nothing.

    Args:
        track: with the rates that were kept.
        efforts: its canters and its fast work.
    """
    if not np.isfinite(track.heart_bpm).any():
        return Highest(np.nan, np.nan)
    kept = _kept_in(track, _fastest(track, efforts))
    if kept < LEAST_SHARE:
        return Highest(np.nan, np.nan, (Message("heart_half_of_work" if kept else "heart_not_of_work"),))
    return Highest(float(np.nanmax(track.heart_bpm)), highest_held(track))


def _fastest(track: Track, efforts: Sequence[Effort]) -> Effort | None:
    """Return the fastest effort: fast work before canter, one of a furlong before shorter ones."""

    def order(one: Effort) -> tuple[bool, bool, float]:
        speed = track.speed_ms[(track.time_s >= one.start_s) & (track.time_s <= one.end_s)]
        mean = float(np.nanmean(speed)) if np.isfinite(speed).any() else 0.0
        return one.kind == "fast", mean * (one.end_s - one.start_s) >= FURLONG_M, mean

    return max(efforts, key=order, default=None)


def _kept_in(track: Track, effort: Effort | None) -> float:
    """Return the share of an effort's seconds that have a heart rate near; 1 without an effort."""
    if effort is None:
        return 1.0
    there = track.time_s[np.isfinite(track.heart_bpm)]
    near = max(NEAR_S, float(np.median(np.diff(there)))) if there.size > 1 else NEAR_S
    seconds = np.arange(effort.start_s, effort.end_s, 1.0) + 0.5
    after = np.searchsorted(there, seconds)
    apart = np.minimum(
        np.abs(seconds - there[np.maximum(after - 1, 0)]), np.abs(there[np.minimum(after, there.size - 1)] - seconds)
    )
    within = min(NEAR_S, 0.25 * (effort.end_s - effort.start_s))  # at its ends it is not at its fastest
    inside = (there >= effort.start_s + within) & (there <= effort.end_s - within)
    return float((apart <= near).mean()) if inside.any() else 0.0


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
