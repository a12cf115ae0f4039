"""Leaps of a receiver within a horse's reach: places thrown aside together for some seconds, and then back.

A reflection moves a receiver's places by some metres to some hundred at once, and back at once. A horse does not do so:
it changes its velocity by no more than some metres a second in a second. What tells them apart is therefore how sharply
the track leaves its line and that it comes back to it, and not how far off it is: the slow drift of a receiver, a turn
and a pirouette stay. On times t and places p, with V the running median of the velocities of the steps,

    R_k = sum over steps i < k of (p_{i+1} - p_i - V_i (t_{i+1} - t_i))

is the track freed of its steady movement. It leaves its line where R changes within a second by more than `LEAST_M`, by
more than `SHARP_MS2` allows and by more than the usual noise of the same recording; it is back where R is again near
what it was before.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

SHARP_MS2 = 8.0
"""No horse changes its speed so sharply: its sharpest starts and stops are about half of it (common practice, no
source)."""
LEAST_M = 12.0
"""Smaller leaps are left to the smoother. Our own limit."""
NOISES = 6.0
"""Nor is a leap what is less than so many times the recording's own usual change within a second. Our own limit."""
NEAR, STAYS = 0.3, 0.7
"""It is back where it is nearer to its line than the first of how far it had left it, or than noise, and where so large
a share of the places of a second are. Our own limits."""
STEADY_S, WITHIN_S = 7.0, 1.0
"""Velocities are told by the median over the first; leaps are sharp within the second. Our own limits."""
LEFT_OUT_S, LONGEST_S = 10.0, 60.0
"""Places off for no longer than the first are left out. Where it lasted longer, up to the second, both leaps are gaps,
and the way between stays, which is right but for where it was. Our own limits."""
MOST = 0.1
"""Where a larger share of the moments is sharp the recording is noisy throughout, and is left to the smoother. Our own
limit."""


@dataclass(frozen=True, slots=True)
class Excursion:
    """One leap out and back: the last fix before it and the first after it."""

    before: int
    after: int


def excursions_of(time: Floats, x: Floats, y: Floats) -> tuple[Excursion, ...]:
    """Return the leaps out and back, in order, none within another.

    Args:
        time: (m,) seconds, rising.
        x: (m,) metres.
        y: (m,) metres on the other axis.
    """
    if time.size < 8:
        return ()
    usual = float(np.median(np.diff(time)))
    m = max(1, round(WITHIN_S / usual))
    if time.size < 4 * m + 4:
        return ()
    found: list[Excursion] = []
    sharp, noise = _sharp(time, x, y, m)
    if sharp.mean() > MOST:
        return ()
    for part in _about(time, sharp):
        first = found[-1].after if found else 0
        found += [
            Excursion(part.start + a, part.start + b)
            for a, b in _in_part(time[part], x[part], y[part], m, usual, noise)
            if part.start + a >= first
        ]
    return tuple(found)


def _sharp(time: Floats, x: Floats, y: Floats, m: int) -> tuple[Flags, float]:
    """Return where the velocity over m steps changes as no horse's does, and what a change usually is, in metres."""
    apart = time[m:] - time[:-m]
    east, north = (x[m:] - x[:-m]) / apart, (y[m:] - y[:-m]) / apart
    least, most = np.minimum(apart[m:], apart[:-m]), np.maximum(apart[m:], apart[:-m])
    bend = np.hypot(east[m:] - east[:-m], north[m:] - north[:-m]) * least
    noise = float(np.median(bend)) / np.sqrt(2 * np.log(2))
    sharp = np.zeros(time.size, dtype=np.bool_)
    sharp[m:-m] = bend > np.maximum(max(LEAST_M, NOISES * noise), SHARP_MS2 * most**2)
    return sharp, noise


def _about(time: Floats, sharp: Flags) -> list[slice]:
    """Return the parts of a track about its sharp moments, wide enough to see whether it comes back."""
    at = np.flatnonzero(sharp)
    if not at.size:
        return []
    cuts = np.flatnonzero(np.diff(time[at]) > LONGEST_S + 2 * STEADY_S)
    first, last = at[np.r_[0, cuts + 1]], at[np.r_[cuts, at.size - 1]]
    begins = np.searchsorted(time, time[first] - 2 * STEADY_S)
    ends = np.searchsorted(time, time[last] + 2 * STEADY_S, side="right")
    return [slice(int(a), int(b)) for a, b in zip(begins, ends, strict=True)]


def _in_part(time: Floats, x: Floats, y: Floats, m: int, usual: float, noise: float) -> list[tuple[int, int]]:
    """Return the last place before and the first after each leap out and back in one part."""
    freed = np.column_stack([_freed(time, values, usual) for values in (x, y)])
    apart = time[m:] - time[:-m]
    change = np.hypot(*(freed[m:] - freed[:-m]).T)
    limit = np.maximum(max(LEAST_M, NOISES * noise), SHARP_MS2 * apart**2)
    found: list[tuple[int, int]] = []
    k = 0
    edges = np.flatnonzero(change > limit)
    while (later := edges[edges >= k]).size:
        start = int(later[0])
        back = _back(time, freed, limit, start, m, noise)
        if back is None:
            k = start + m
            continue
        found.append(back)
        k = back[1]
    return found


def _back(time: Floats, freed: Floats, limit: Floats, start: int, m: int, noise: float) -> tuple[int, int] | None:
    """Return the last place on the line before a leap that begins within m steps of `start`, and the first after it."""
    base = np.median(freed[max(start - m, 0) : start + 1], axis=0)
    off = np.hypot(*(freed - base).T)
    near = max(NEAR * float(off[start : start + m + 1].max()), 2 * noise)
    before = start + int(np.argmax(off[start + 1 : start + m + 1] > near))
    end = int(np.searchsorted(time, time[before] + LONGEST_S, side="right"))
    backs = [*_home(off[before + 1 : end] <= near, m), *_undone(freed[before:end], limit[before:end], m, near)]
    if not backs:
        return None
    after = before + 1 + min(backs)
    again = np.median(freed[after + m : after + 2 * m + 1], axis=0) if after + m < time.size else freed[after]
    on, on_again = off <= 2 * noise, np.hypot(*(freed - again).T) <= 2 * noise
    ahead, behind = on[max(before - m, 0) : before + 1][::-1], on_again[after : after + m + 1]
    return before - int(np.argmax(ahead)), after + int(np.argmax(behind))


def _home(near: Flags, m: int) -> list[int]:
    """Return from where on places are near the line again, for most of m + 1 of them."""
    if near.size <= m:
        return []
    stays = np.lib.stride_tricks.sliding_window_view(near, m + 1).mean(axis=1) > STAYS
    begins = int(np.argmax(stays))
    return [begins + int(np.argmax(near[begins:]))] if stays.any() else []


def _undone(freed: Floats, limit: Floats, m: int, near: float) -> list[int]:
    """Return where a second leap undoes the one that begins at 0, wherever the line has gone meanwhile."""
    change = freed[m:] - freed[:-m]
    if change.shape[0] <= m:
        return []
    undoes = np.hypot(*(change[m:] + change[0]).T)
    undoes[np.hypot(*change[m:].T) < limit[m : change.shape[0]]] = np.inf
    if not (undoes <= near).any():
        return []
    first = m + int(np.argmax(undoes <= near))
    best = first + int(np.argmin(undoes[first - m : first]))
    there = np.hypot(*(freed[best : best + m + 1] - freed[best + m]).T)
    return [best - 1 + int(np.argmax(there <= near))]


def _freed(time: Floats, values: Floats, usual: float) -> Floats:
    """Return the part of one coordinate that the steady movement about each step does not explain."""
    step = np.diff(time)
    moved = np.diff(values)
    half = int(np.clip(STEADY_S / usual / 2, 2, 35))
    padded = np.pad(moved / step, half, mode="edge")
    steady = np.median(np.lib.stride_tricks.sliding_window_view(padded, 2 * half + 1), axis=1)
    return np.asarray(np.r_[0.0, np.cumsum(moved - steady * step)])
