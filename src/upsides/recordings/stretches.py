"""Unbroken stretches of a track: where positions follow each other closely enough to speak of the way between."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.recording import Message

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Whole = NDArray[np.int64]

STEPS, LONG_STEPS, LONGEST_S = 3.0, 2.0, 60.0
"""Where a device writes rarely, or only when something changes, a gap is longer than so many usual (median) steps and
so many long ones (95 % are shorter); and it is always one when longer than so many seconds. Our own limits."""


@dataclass(frozen=True, slots=True, eq=False)
class Stretches:
    """The stretches of m moments.

    Attributes:
        number: (m,) of the stretch, from 0.
        inside: (m,) which moments lie between the first and the last position of a stretch.
        first: (i,) of the moments inside, which begin a stretch; each of these has a position.
        messages: how many gaps.
    """

    number: Whole
    inside: Flags
    first: Flags
    messages: tuple[Message, ...]


def stretches_of(time: Floats, measured: Flags, breaks: Flags, gap_s: float) -> Stretches:
    """Return the stretches.

    Args:
        time: (m,) seconds, rising.
        measured: (m,) which moments have a position; where none has, heart rates are cut at gaps alike.
        breaks: (m,) moments that begin a stretch however close they stand to the one before.
        gap_s: longer without a position is a gap, s.
    """
    rows = np.flatnonzero(measured) if measured.any() else np.arange(time.size)
    step = np.diff(time[rows])
    limit = max(gap_s, min(_rare(step), LONGEST_S)) if step.size else gap_s
    gap = step > limit
    begins = np.r_[True, gap | (np.diff(np.cumsum(breaks)[rows]) > 0)]
    number = np.cumsum(begins) - 1
    at = np.clip(np.searchsorted(rows, np.arange(time.size), side="right") - 1, 0, None)
    following = np.searchsorted(rows, np.arange(time.size))
    inside = (following < rows.size) & (np.arange(time.size) >= rows[0])
    following = np.minimum(following, rows.size - 1)
    inside &= (number[following] == number[at]) & measured.any()
    first = np.zeros(time.size, dtype=np.bool_)
    first[rows[begins]] = True
    return Stretches(number[at], inside, first[inside], _said(step[gap], limit))


def _rare(step: Floats) -> float:
    """Return how long a step must be to be rare among these, s."""
    usual, long = np.percentile(step, [50, 95])
    return float(max(STEPS * usual, LONG_STEPS * long))


def _said(gaps: Floats, limit: float) -> tuple[Message, ...]:
    if not gaps.size:
        return ()
    return (Message("gaps", {"count": gaps.size, "limit": round(limit), "longest": _long(float(gaps.max()))}),)


def _long(seconds: float) -> str:
    """Return how long something lasted in the largest unit of which there are two at least."""
    units = ((86400.0, "days"), (3600.0, "h"), (60.0, "min"))
    size, unit = next(((size, unit) for size, unit in units if seconds >= 2 * size), (1.0, "s"))
    return f"{seconds / size:.0f} {unit}"
