"""Heart rates cleaned: what cannot be is left out, the rest is the median of five seconds.

A heart monitor on a horse doubles (the T wave counted too), halves, freezes and drops out. Limits: 20 to 250 beats a
minute; no change above 15 in a second unless the new level lasts; five-second medians; doubling and halving told by
sharp steps by a factor of two, and by the horse's own line of heart on speed; frozen values told by speed that changes
meanwhile; no gap longer than ten seconds filled. These are an engineering choice, but for the range of the living that
they lie about (horses at rest 26 to 48; 230 at most on a treadmill, Seeherman and Morris 1991).
"""

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from upsides.recordings.heart_doubled import LEAST_BPM, MOST_BPM, by_two, miscounted
from upsides.recordings.recording import Message

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

SHARP_BPM, UPDATE_S = 15.0, 3.0
"""In a second; where a monitor renews its rate more rarely than it is written, in that time, up to the last."""
LASTS_S = 10.0
"""A level that lasts so long is no artefact for being sharp alone."""
MEDIAN_S, FILLED_S = 5.0, 10.0
TWICE_S = 300.0
"""Doubling between two steps that lasts longer than this is not told from a true change by the steps alone."""
FROZEN_S, FROZEN_SPEED_MS = 30.0, 4.0
"""The same rate for so long, while speed ranges over so much, is frozen."""
FLAT_S = 300.0
"""The same rate for so long is frozen whatever speed does, or is not known."""
LINE_POINTS, LINE_SPREAD_MS, LINE_FROM_MS = 100, 3.0, 2.0
"""The line needs so many five-second means above the last speed, spread over so much speed (10 % to 90 %)."""


CLEAR, LEAST_SCATTER_BPM = 5.0, 5.0
"""A rate is off the line by more than so many times the scatter, which counts as no less than the last. Our own."""
SLOWEST_UP_S, SLOWEST_DOWN_S = 60.0, 150.0
"""Time constants of a heart that is slow to rise and to recover. Our own."""


@dataclass(frozen=True, slots=True, eq=False)
class Heart:
    """Cleaned heart rates.

    Attributes:
        bpm: (m,) beats a minute, NaN where none was kept and none near enough to fill from.
        kept: share of the rates given that were kept; NaN without any.
        messages: what was left out.
    """

    bpm: Floats
    kept: float
    messages: tuple[Message, ...]


def cleaned_heart(time: Floats, bpm: Floats, speed: Floats) -> Heart:
    """Clean heart rates.

    Args:
        time: (m,) seconds, rising.
        bpm: (m,) as recorded, NaN where there is none.
        speed: (m,) of the clean track, m/s, NaN where not known.
    """
    given = np.flatnonzero(np.isfinite(bpm))
    if not given.size:
        return Heart(np.full(time.size, np.nan), np.nan, ())
    t, h, v = time[given], bpm[given], speed[given]
    said: list[Message] = []
    left = (h >= LEAST_BPM) & (h <= MOST_BPM)
    _say(said, ~left, "heart_impossible")
    frozen = left & _frozen(t, h, v)
    _say(said, frozen, "heart_frozen")
    left &= ~frozen
    doubled, sharp = _stepped(t, h, left)
    beyond = miscounted(t, h, v, left & ~doubled & ~sharp)
    doubled |= beyond.told
    doubled |= left & _off_the_line(t, h, v, left & ~doubled & ~sharp & ~beyond.doubtful)
    _say(said, doubled, "heart_doubled")
    _say(said, sharp & ~doubled, "heart_sharp")
    _say(said, beyond.doubtful & ~doubled, "heart_doubtful")
    left &= ~doubled & ~sharp & ~beyond.doubtful
    if not left.any():
        return Heart(np.full(time.size, np.nan), 0.0, tuple(said))
    smooth = running_median(t[left], h[left], MEDIAN_S / 2)
    return Heart(_filled(time, t[left], smooth), float(left.mean()), tuple(said))


def _say(said: list[Message], which: Flags, code: str) -> None:
    count = int(which.sum())
    if count:
        said.append(Message(code, {"count": count}))


@njit("f8[::1](f8[::1], f8[::1], f8)", cache=True, nogil=True)
def running_median(time: Floats, values: Floats, half_s: float) -> Floats:
    """Return the median of the values within `half_s` of each moment, kept in order while the window moves."""
    n = time.size
    window, found = np.empty(n), np.empty(n)
    size, begin, end = 0, 0, 0
    for k in range(n):
        while end < n and time[end] <= time[k] + half_s:
            i = size
            while i > 0 and window[i - 1] > values[end]:
                window[i] = window[i - 1]
                i -= 1
            window[i] = values[end]
            size += 1
            end += 1
        while time[begin] < time[k] - half_s:
            i = np.searchsorted(window[:size], values[begin])
            for j in range(i, size - 1):
                window[j] = window[j + 1]
            size -= 1
            begin += 1
        middle = size // 2
        found[k] = window[middle] if size % 2 else (window[middle - 1] + window[middle]) / 2
    return found


def _frozen(time: Floats, bpm: Floats, speed: Floats) -> Flags:
    """Return which rates stand still for long, while speed changes or for minutes on end."""
    starts = np.flatnonzero(np.r_[True, np.diff(bpm) != 0])
    ends = np.r_[starts[1:], bpm.size] - 1
    lasted = time[ends] - time[starts]
    highest = np.fmax.reduceat(speed, starts)
    lowest = np.fmin.reduceat(speed, starts)
    frozen = (lasted >= FLAT_S) | ((lasted >= FROZEN_S) & (highest - lowest >= FROZEN_SPEED_MS))
    return np.repeat(frozen, ends - starts + 1)


def _stepped(time: Floats, bpm: Floats, left: Flags) -> tuple[Flags, Flags]:
    """Return which rates lie between two steps by a factor of two, and which between two sharp steps close together."""
    rows = np.flatnonzero(left)
    doubled, sharp = np.zeros(bpm.size, dtype=np.bool_), np.zeros(bpm.size, dtype=np.bool_)
    if rows.size < 3:
        return doubled, sharp
    t, h = time[rows], bpm[rows]
    step = np.diff(t)
    renewed = np.maximum.accumulate(np.r_[t[0], np.where(np.diff(h) != 0, t[1:], t[0])])
    since = np.maximum(np.clip(t[1:] - renewed[:-1], 1.0, UPDATE_S), step)
    cuts = np.flatnonzero((np.abs(np.diff(h)) > SHARP_BPM * since) & (step <= LASTS_S)) + 1
    if not cuts.size:
        return doubled, sharp
    begins, ends = np.r_[0, cuts], np.r_[cuts, t.size]
    for piece in range(begins.size):
        begin, end = int(begins[piece]), int(ends[piece])
        lasted = t[end - 1] - t[begin]
        into = h[begin] / h[begin - 1] if piece else np.nan
        out = h[end - 1] / h[end] if piece < begins.size - 1 else np.nan
        inside = rows[begin:end]
        if lasted <= TWICE_S and by_two(into) and by_two(out) and (into > 1) == (out > 1):
            longer = max(t[begin - 1] - t[begins[piece - 1]], t[ends[piece + 1] - 1] - t[end])
            doubled[inside] = lasted <= max(longer, LASTS_S)
        elif lasted < LASTS_S and ((into > 1) == (out > 1) or piece in {0, begins.size - 1}):
            sharp[inside] = True
    return doubled, sharp


def _off_the_line(time: Floats, bpm: Floats, speed: Floats, left: Flags) -> Flags:
    """Return which rates lie at half or twice what the horse's own line of heart on speed says.

    The heart comes after the speed, so it is held against the range from the line to where the heart can still be
    on its way from (`between`).
    """
    nothing = np.zeros(bpm.size, dtype=np.bool_)
    line = _own_line(time, bpm, speed, left)
    if line is None:
        return nothing
    start, slope, scatter = line
    known = speed > LINE_FROM_MS
    lowest, highest = between(time, start + slope * np.maximum(np.where(known, speed, 0.0), LINE_FROM_MS))
    low, high = lowest - 2 * scatter, highest + 2 * scatter
    doubled = (bpm > highest + CLEAR * scatter) & (bpm / 2 > low) & (bpm / 2 < high)
    halved = (bpm < lowest - CLEAR * scatter) & (2 * bpm > low) & (2 * bpm < high)
    return np.asarray(known & (doubled | halved))


def _own_line(time: Floats, bpm: Floats, speed: Floats, left: Flags) -> tuple[float, float, float] | None:
    """Return start, slope and scatter of the line of Theil and Sen (Sen 1968, JASA 63:1379) through five-second means.

    None where it says nothing: too few points, too little spread, or falling.
    """
    told = left & np.isfinite(speed) & (speed > LINE_FROM_MS)
    if np.count_nonzero(told) < LINE_POINTS:
        return None
    block = np.unique(np.floor(time[told] / MEDIAN_S), return_inverse=True)[1]
    count = np.bincount(block)
    v, h = np.bincount(block, speed[told]) / count, np.bincount(block, bpm[told]) / count
    if v.size < LINE_POINTS or np.ptp(np.percentile(v, [10, 90])) < LINE_SPREAD_MS:
        return None
    some = np.linspace(0, v.size - 1, min(v.size, 2 * LINE_POINTS)).astype(np.int64)
    first, second = np.triu_indices(some.size, 1)
    run = v[some][second] - v[some][first]
    far = np.abs(run) > LINE_SPREAD_MS / 2
    slope = float(np.median((h[some][second] - h[some][first])[far] / run[far])) if far.any() else 0.0
    start = float(np.median(h - slope * v))
    if slope <= 0 or start <= 0:
        return None
    return start, slope, max(1.4826 * float(np.median(np.abs(h - start - slope * v))), LEAST_SCATTER_BPM)


@njit("UniTuple(f8[::1], 2)(f8[::1], f8[::1])", cache=True, nogil=True)
def between(time: Floats, aim: Floats) -> tuple[Floats, Floats]:
    """Return the lowest and the highest rate of a heart that comes after `aim`: slowest up, and slowest down."""
    low, high = aim.copy(), aim.copy()
    for k in range(1, aim.size):
        step = time[k] - time[k - 1]
        up = low[k - 1] + (aim[k] - low[k - 1]) * (1 - np.exp(-step / SLOWEST_UP_S))
        down = high[k - 1] + (aim[k] - high[k - 1]) * (1 - np.exp(-step / SLOWEST_DOWN_S))
        low[k], high[k] = min(aim[k], up), max(aim[k], down)
    return low, high


def _filled(time: Floats, t: Floats, bpm: Floats) -> Floats:
    """Return the rate at every moment, between two that were kept no more than FILLED_S apart; otherwise NaN."""
    after = np.searchsorted(t, time)
    before = np.clip(np.searchsorted(t, time, side="right") - 1, 0, t.size - 1)
    inside = (after < t.size) & (time >= t[0])
    after = np.minimum(after, t.size - 1)
    near = t[after] - t[before] <= FILLED_S
    return np.where(inside & near, np.interp(time, t, bpm), np.nan)
