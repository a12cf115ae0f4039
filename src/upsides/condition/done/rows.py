"""What horses did as rows: which horse, on which day, how far in which step of speed, and who says so."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final, Literal, Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from upsides.recordings.bouts.bins import COUNT, STEP_MS
from upsides.recordings.bouts.strides import stride_length

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

Source = Literal["tracker", "thumb", "result", "told", "usual"]
SOURCES: Final[tuple[Source, ...]] = ("tracker", "thumb", "result", "told", "usual")
"""Who says so: a recording, a thumb on a stopwatch, the result of a race; a distance or minutes that somebody wrote
down, ridden at a usual pace; and, where nothing but the name of an exercise is known, what that usually comes to."""
MEASURED: Final = 3
"""So many of them, from the first on, are measured."""
STRIDING: Final = 10
"""The step from which strides are counted, 5 m/s: the length of a stride is published from the canter on."""
MIDDLES: Final[Floats] = np.arange(COUNT, dtype=np.float64) * STEP_MS + 0.5 * STEP_MS
"""(COUNT,) the middle of each step, m/s."""
STRIDE_M: Final[Floats] = stride_length(MIDDLES)
"""(COUNT,) published length of a stride at each, m; NaN below the canter."""


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """n rows; several may be of the same horse, day and step, and they add up.

    Attributes:
        horse: (n,) the horse's place among the yard's horses, from 0 on.
        day: (n,) the day, as `date.toordinal` counts.
        step: (n,) the step of speed (`upsides.recordings.bouts.bins`); any for a row without metres.
        metres: (n,) how far. A row of 0 m says that something is known of the day: a day off is told, too.
        strides: (n,) how many, 0 below the canter.
        source: (n,) place in `SOURCES`.
    """

    horse: Ints
    day: Ints
    step: Ints
    metres: Floats
    strides: Floats
    source: Ints

    @classmethod
    def joined(cls, parts: Sequence[Self]) -> Self:
        """Return the rows of all parts."""
        names = ("horse", "day", "step", "metres", "strides", "source")
        code, amount = np.empty(0, dtype=np.int64), np.empty(0)
        none = cls(code, code, code, amount, amount, code)
        return cls(*(np.concatenate([getattr(part, name) for part in (none, *parts)]) for name in names))

    @classmethod
    def of_profiles(cls, horse: ArrayLike, day: ArrayLike, metres: Floats, source: Source) -> Self:
        """Return the rows of m days whose metres are known by step; strides are as published.

        Args:
            horse: (m,) places of horses.
            day: (m,) days.
            metres: (m, COUNT). A day without any gets a row of 0 m.
            source: of all of them.
        """
        return cls.of_kinds(horse, day, np.arange(len(metres)), metres, source)

    @classmethod
    def of_kinds(cls, horse: ArrayLike, day: ArrayLike, kind: Ints, metres: Floats, source: Source) -> Self:
        """Return the rows of m days of few kinds, such as outings that come to what their exercise usually does.

        Args:
            horse: (m,) places of horses.
            day: (m,) days.
            kind: (m,) which of the profiles each day came to.
            metres: (k, COUNT) profiles. One without any metres gets a row of 0 m.
            source: of all of them.
        """
        whose, when = np.asarray(horse, dtype=np.int64), np.asarray(day, dtype=np.int64)
        told = metres > 0
        told[:, 0] |= ~told.any(axis=1)
        steps, many = np.nonzero(told)[1], told.sum(axis=1)
        count = many[kind]
        row = np.repeat(np.arange(kind.size), count)
        behind = np.arange(row.size) - np.repeat(np.cumsum(count) - count, count)
        at = (np.cumsum(many) - many)[kind][row] + behind
        step, far = steps[at], metres[told][at]
        strides = np.where(step >= STRIDING, far / np.where(step >= STRIDING, STRIDE_M[step], 1.0), 0.0)
        return cls(whose[row], when[row], step, far, strides, np.full(row.size, SOURCES.index(source)))


def ordinals(days: Sequence[date]) -> Ints:
    """Return days as `Rows` counts them."""
    return np.array([one.toordinal() for one in days], dtype=np.int64)
