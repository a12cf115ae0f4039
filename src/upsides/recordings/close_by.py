"""Two devices some metres apart in one file: positions that go to and fro between two tracks that each run smoothly.

A fix is held against the line between its neighbours. Of one device it lies on it but for noise, and no less when every
second fix, or third, is looked at alone; of two it lies off it by how far they are apart, and every second fix (or as
many as the devices take turns by) runs smoothly. Then each fix is given to the track it is nearer to, or to the one
which its place in a pair of one time says. All limits here are our own choice.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Labels = NDArray[np.int8]
Flags = NDArray[np.bool_]

WINDOWS, WIDE = 60, 60
"""Looked at first: so many runs of so many fixes."""
TURNS: Final = (2, 3, 4, 5, 6)
"""One device may write up to so many times as often as the other, less one."""
LEAST_M, SMOOTHER = 1.0, 0.5
"""Fixes lie off the line of their neighbours by so much, and off their own track by no more than such a part of it."""
PAIRED = 0.35
"""The middle of two fixes of one time lies off its line by no more than such a part of what they are apart."""
LONGEST_S = 6.0
"""Neighbours further from each other tell nothing."""
SLOW_MS = 3.0
"""Below this a wrong time throws no fix aside."""
LEAST_SHARE, LEAST_FIXES = 0.1, 10
NEAR_SD, MET, BESIDE = 3.0, 0.01, 9
"""Tracks nearer each other than so much noise, for such a share of the time, can be taken for each other; on which side
one is of the other is the median of so many seconds."""


@dataclass(frozen=True, slots=True, eq=False)
class Turns:
    """Two devices in one file.

    Attributes:
        which: (m,) 0 or 1; None where it cannot be told which fix is whose.
    """

    which: Labels | None


def close_by(time: Floats, east: Floats, north: Floats) -> Turns | None:
    """Return how the fixes of two devices near each other are mixed; None where they are of one.

    Args:
        time: (m,) seconds, as in the file.
        east: (m,) metres.
        north: (m,) the same.
    """
    moved = np.flatnonzero(np.r_[True, (np.diff(east) != 0) | (np.diff(north) != 0)])
    if moved.size < 4 * LEAST_FIXES or not _suspicious(time[moved], east[moved], north[moved]):
        return None
    t, x, y = time[moved], east[moved], north[moved]
    which, noise, strict = _given(t, x, y)
    apart = float(_median(_off(t, x, y, 1)))
    smaller = min(np.count_nonzero(which), np.count_nonzero(which == 0))
    if smaller < max(LEAST_SHARE * t.size, LEAST_FIXES) or noise > SMOOTHER * apart:
        return None
    if not strict and _mixed_up(t, x, y, which, noise):
        return Turns(None)
    labels = which[np.clip(np.searchsorted(moved, np.arange(time.size), side="right") - 1, 0, moved.size - 1)]
    return Turns(labels)


def _off(t: Floats, x: Floats, y: Floats, lag: int) -> Floats:
    """Return how far each fix of a row lies off the line between those `lag` before and after; NaN where none tells."""
    off = np.full(t.shape, np.nan)
    if t.shape[-1] <= 2 * lag:
        return off
    before, here, after = (..., slice(None, -2 * lag)), (..., slice(lag, -lag)), (..., slice(2 * lag, None))
    over = t[after] - t[before]
    with np.errstate(divide="ignore", invalid="ignore"):
        part = (t[here] - t[before]) / over
        aside = np.hypot(
            x[here] - x[before] - part * (x[after] - x[before]), y[here] - y[before] - part * (y[after] - y[before])
        )
    off[here] = np.where((over > 0) & (over <= LONGEST_S) & (part >= 0) & (part <= 1), aside, np.nan)
    return off


def _suspicious(t: Floats, x: Floats, y: Floats) -> bool:
    """Return whether some stretch of the file jumps to and fro as fixes of two devices do, at the walk too."""
    wide = min(WIDE, t.size)
    rows = np.unique(np.linspace(0, t.size - wide, WINDOWS).astype(np.int64))[:, None] + np.arange(wide)
    slow, jumps = _jumping(t[rows], x[rows], y[rows])
    found, at_walk = np.count_nonzero(jumps), np.count_nonzero(slow)
    return bool(found >= max(3, len(rows) / 10) and (at_walk == 0 or np.count_nonzero(slow & jumps) >= at_walk / 3))


def _jumping(t: Floats, x: Floats, y: Floats) -> tuple[Flags, Flags]:
    """Return of each stretch, a row of fixes, whether it is slow, and whether it jumps to and fro."""
    span = t[:, -1] - t[:, 0]
    gone = np.hypot(*(of[:, -2:].mean(axis=1) - of[:, :2].mean(axis=1) for of in (x, y)))
    with np.errstate(divide="ignore", invalid="ignore"):
        speed = np.where(span > 0, gone / span, np.inf)
    apart = _median(_off(t, x, y, 1))
    in_pairs = np.zeros(len(t), dtype=np.bool_)
    for row in np.flatnonzero((np.diff(t) <= 0).any(axis=1)).tolist():
        apart[row] = min(apart[row], _median(_off(_spread(t[row]), x[row], y[row], 1)))
        in_pairs[row] = _in_pairs(t[row], x[row], y[row])
    best = np.minimum.reduce([_median(_off(t, x, y, lag)) for lag in TURNS])
    return speed < SLOW_MS, (apart >= LEAST_M) & (best <= SMOOTHER * apart) | in_pairs


def _in_pairs(t: Floats, x: Floats, y: Floats) -> bool:
    """Return whether most fixes stand in pairs of one time, two places apart, whose middle runs smoothly."""
    first = np.flatnonzero((np.diff(t) == 0) & np.r_[True, np.diff(t)[:-1] != 0])
    if first.size < t.size / 3:
        return False
    apart = float(np.median(np.hypot(x[first + 1] - x[first], y[first + 1] - y[first])))
    middle = _off(t[first], (x[first] + x[first + 1]) / 2, (y[first] + y[first + 1]) / 2, 1)
    return apart >= LEAST_M and bool(_median(middle) <= PAIRED * apart)


def _median(off: Floats) -> Floats:
    """Return the median of what is known of each row; infinite where too little is."""
    known = np.count_nonzero(np.isfinite(off), axis=-1)
    ranked = np.sort(off, axis=-1)
    middle = np.stack([np.maximum(known - 1, 0) // 2, known // 2], axis=-1)
    both = np.take_along_axis(ranked, middle, axis=-1)
    return np.asarray(np.where(known >= LEAST_FIXES, both.mean(axis=-1), np.inf))


def _spread(t: Floats) -> Floats:
    """Return times of which those that are written more than once are spread up to the next."""
    begins = np.flatnonzero(np.r_[True, np.diff(t) > 0])
    lengths = np.diff(np.r_[begins, t.size])
    steps = np.r_[np.diff(t[begins]), 1.0]
    place = np.arange(t.size) - np.repeat(begins, lengths)
    return np.asarray(t + place * np.repeat(np.minimum(steps, 1.0) / lengths, lengths), dtype=np.float64)


def _given(t: Floats, x: Floats, y: Floats) -> tuple[Labels, float, bool]:
    """Return which track each fix is of, how far fixes lie off their own, m, and whether their order alone told it."""
    which = _in_order(t)
    if which is not None:
        return which, _own_noise(t, x, y, which), True
    seed = _seed(t, x, y)
    which, noise, turn = np.zeros(t.size, dtype=np.int8), 1.0, 0.5
    for _again in range(3):
        odds = float(np.log(np.clip(turn, 0.02, 0.98) / (1 - np.clip(turn, 0.02, 0.98))))
        _both_ways(t, x, y, seed, noise, odds, which)
        noise = max(_own_noise(t, x, y, which), 0.3)
        turn = float(np.mean(np.diff(which) != 0))
    return which, noise, False


def _in_order(t: Floats) -> Labels | None:
    """Return which device each fix is of where all stand in pairs of one time, or all take turns; else None."""
    first = np.r_[True, np.diff(t) > 0]
    if np.all(first[::2]) and not first[1::2].any():
        return (np.arange(t.size) % 2).astype(np.int8)
    return None


def _own_noise(t: Floats, x: Floats, y: Floats, which: Labels) -> float:
    off = [_off(t[which == one], x[which == one], y[which == one], 1) for one in (0, 1)]
    known = np.concatenate([one[np.isfinite(one)] for one in off])
    return float(np.median(known)) if known.size else np.inf


def _seed(t: Floats, x: Floats, y: Floats) -> int:
    """Return a fix that lies well off its neighbours where it goes slowly: it is the other device's."""
    off = _off(t, x, y, 1)
    far = np.zeros(t.size)
    reach = 12
    over = np.maximum(t[2 * reach :] - t[: -2 * reach], 1e-3)
    far[reach:-reach] = np.hypot(x[2 * reach :] - x[: -2 * reach], y[2 * reach :] - y[: -2 * reach]) / over
    known = np.isfinite(off)
    known[: reach + 1] = known[-reach - 1 :] = False
    if not known.any():
        return 1
    clear = known & (off >= np.quantile(off[known], 0.9))
    return int(np.flatnonzero(clear)[np.argmin(far[clear])])


def _both_ways(t: Floats, x: Floats, y: Floats, seed: int, noise: float, odds: float, which: Labels) -> None:
    which[seed - 1], which[seed] = 0, 1
    ahead = which[seed - 1 :].copy()
    _follow(t[seed - 1 :].copy(), x[seed - 1 :].copy(), y[seed - 1 :].copy(), noise, odds, ahead)
    which[seed - 1 :] = ahead
    back = which[seed::-1].copy()
    _follow(-t[seed::-1], x[seed::-1].copy(), y[seed::-1].copy(), noise, odds, back)
    which[seed::-1] = back


@njit("void(f8[::1], f8[::1], f8[::1], f8, f8, i1[::1])", cache=True, nogil=True)
def _follow(t: Floats, x: Floats, y: Floats, noise: float, odds: float, which: Labels) -> None:
    """Give each fix from the third on to the track whose way it is on; the first two are one of each.

    A device that is silent for more than two seconds is thought to go on beside the other. A fix that is far off both
    ways moves neither, unless that lasts.
    """
    px, py, pt = np.zeros(2), np.zeros(2), np.zeros(2)
    vx, vy = np.zeros(2), np.zeros(2)
    for k in range(2):
        one = which[k]
        px[one], py[one], pt[one] = x[k], y[k], t[k]
    beside_x, beside_y = px[1] - px[0], py[1] - py[0]
    before = which[1]
    for k in range(2, t.size):
        best, own, off = np.inf, 0, 0.0
        for one in range(2):
            step, other = t[k] - pt[one], 1 - one
            ahead = max(step, 0.0)
            at_x, at_y = px[one] + vx[one] * ahead, py[one] + vy[one] * ahead
            spread = noise + ahead * ahead
            if ahead > 2.0:
                sign = 1.0 if one == 1 else -1.0
                since = max(t[k] - pt[other], 0.0)
                at_x = px[other] + vx[other] * since + sign * beside_x
                at_y = py[other] + vy[other] * since + sign * beside_y
                spread = noise + min(since * since, 4.0) + min(0.3 * ahead, 5.0)
            far = np.hypot(x[k] - at_x, y[k] - at_y)
            cost = 0.5 * min(far / spread, 20.0) ** 2 + np.log(spread) + 1e-3 * far
            if one == before:
                cost += odds
            if step <= 0.0:
                cost += 4.0
            if cost < best:
                best, own, off = cost, one, far / spread
        which[k] = own
        before = own
        step = t[k] - pt[own]
        if off > 6.0 and step < 5.0:
            continue
        if step > 0.0:
            share = min(max(step, 0.1), 0.6)
            if step > 10.0 or off > 6.0:
                vx[own], vy[own] = vx[1 - own], vy[1 - own]
            else:
                vx[own] += share * ((x[k] - px[own]) / step - vx[own])
                vy[own] += share * ((y[k] - py[own]) / step - vy[own])
        px[own], py[own], pt[own] = x[k], y[k], t[k]
        since = t[k] - pt[1 - own]
        if since <= 2.0:
            sign = 1.0 if own == 1 else -1.0
            now_x = sign * (x[k] - px[1 - own] - vx[1 - own] * since)
            now_y = sign * (y[k] - py[1 - own] - vy[1 - own] * since)
            beside_x += 0.2 * (now_x - beside_x)
            beside_y += 0.2 * (now_y - beside_y)


def _mixed_up(t: Floats, x: Floats, y: Floats, which: Labels, noise: float) -> bool:
    """Return whether one device may have been taken for the other from somewhere on.

    So it is where they come nearer each other than the noise, and where one is suddenly on the other side of the other.
    """
    one, other = (np.flatnonzero(which == number) for number in (0, 1))
    one, other = (rows[np.argsort(t[rows], kind="stable")] for rows in (one, other))
    there = one[(t[one] >= t[other[0]]) & (t[one] <= t[other[-1]])]
    aside = [np.interp(t[there], t[other], of[other]) - of[there] for of in (x, y)]
    if not there.size or float(np.mean(np.hypot(*aside) < NEAR_SD * noise)) > MET:
        return True
    second = np.unique(np.floor(t[there]), return_index=True)[1]
    if second.size <= 2 * BESIDE:
        return False
    runs = [np.median(np.lib.stride_tricks.sliding_window_view(of[second], BESIDE), axis=1) for of in aside]
    (before_x, after_x), (before_y, after_y) = ((of[:-BESIDE], of[BESIDE:]) for of in runs)
    turned = before_x * after_x + before_y * after_y
    return bool(np.any(turned < -0.5 * np.hypot(before_x, before_y) * np.hypot(after_x, after_y)))
