"""What every horse of a yard did on every day, so laid out that any sum over days and speeds is four look-ups.

With S[i, k] the metres of all horse-days before the i-th and all steps of speed below the k-th, horse by horse and day
by day, the metres of horse-days b to e and steps l to h are

    S[e, h] - S[b, h] - S[e, l] + S[b, l]

so that the cost of a sum does not depend on how long the window is.
"""

from dataclasses import dataclass
from typing import Final, Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from upsides.condition.done.rows import MEASURED, SOURCES, Rows
from upsides.recordings.bouts.bins import COUNT, STEP_MS

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

SPAN: Final = 1 << 23
"""More days than `date.toordinal` can count, so that a horse's days never run into the next horse's."""
LEAST_M: Final = 1e-3
"""What running totals leave of nothing is less than this, and is nothing."""
DENSE: Final = 16
"""So many cells a row a table of all horses and days may have."""
NEVER: Final = 1 << 22
"""After every day that `date.toordinal` counts: a window that begins after it is empty."""


def keys(horse: ArrayLike, day: ArrayLike) -> Ints:
    """Return horse-days as single numbers, in order of horse and day."""
    return np.asarray(horse, dtype=np.int64) * SPAN + np.clip(np.asarray(day, dtype=np.int64), 0, SPAN - 1)


@dataclass(frozen=True, slots=True, eq=False)
class Sums:
    """Sums over windows, m of them.

    Attributes:
        metres: (m,) between the speeds asked for.
        strides: (m,) of those metres, from the canter on.
        measured: (m,) share of all metres in the window, at any speed, that were measured; NaN where there are none.
        told: (m,) on how many days of the window anything is known, a day off included.
    """

    metres: Floats
    strides: Floats
    measured: Floats
    told: Ints


@dataclass(frozen=True, slots=True, eq=False)
class Days:
    """The days of a yard, n horse-days of which anything is known.

    Attributes:
        key: (n,) rising, `keys` of horse and day.
        metres: (n + 1, COUNT + 1) metres of all horse-days before, at all lower steps.
        strides: (n + 1, COUNT + 1) strides, likewise.
        sources: (n + 1, sources) metres of all horse-days before, by who says so.
    """

    key: Ints
    metres: Floats
    strides: Floats
    sources: Floats

    @classmethod
    def of(cls, rows: Rows) -> Self:
        """Lay rows out."""
        key, place = _placed(rows.horse, rows.day)
        cell = place * COUNT + rows.step
        sourced = np.bincount(place * len(SOURCES) + rows.source, rows.metres, key.size * len(SOURCES))
        sources = np.zeros((key.size + 1, len(SOURCES)))
        np.cumsum(sourced.reshape(-1, len(SOURCES)), axis=0, out=sources[1:])
        return cls(key, _before(cell, rows.metres, key.size), _before(cell, rows.strides, key.size), sources)

    def between(self, horse: ArrayLike, after: ArrayLike, until: ArrayLike) -> tuple[Ints, Ints]:
        """Return the first horse-day of each window and the one after its last: days in (after, until]."""
        begin = np.searchsorted(self.key, keys(horse, after), side="right")
        return begin, np.maximum(begin, np.searchsorted(self.key, keys(horse, until), side="right"))

    def sums(
        self, horse: ArrayLike, after: ArrayLike, until: ArrayLike, low_ms: float = 0.0, high_ms: float = np.inf
    ) -> Sums:
        """Return sums over the days in (after, until].

        Args:
            horse: (m,) places of horses.
            after: (m,) or one, the day before the window's first.
            until: (m,) or one, its last day.
            low_ms: speed from which is summed, taken at the nearest step.
            high_ms: speed up to which, likewise.
        """
        begin, end = self.between(horse, after, until)
        low, high = (min(round(min(one, COUNT * STEP_MS) / STEP_MS), COUNT) for one in (low_ms, high_ms))
        high = COUNT if high_ms >= (COUNT - 1) * STEP_MS else high
        metres, strides = (_box(table, begin, end, low, high) for table in (self.metres, self.strides))
        who = self.sources[end] - self.sources[begin]
        whole = who.sum(axis=1)
        share = np.divide(who[:, :MEASURED].sum(axis=1), whole, out=np.full(whole.shape, np.nan), where=whole > 0.5)
        return Sums(metres, strides, np.clip(share, 0.0, 1.0), end - begin)

    def profile(self, horse: int, after: int, until: int) -> tuple[Floats, Floats]:
        """Return (COUNT,) metres and (COUNT,) strides by step of speed of one horse over the days in (after, until]."""
        begin, end = (int(one) for one in self.between(horse, after, until))
        metres, strides = (np.diff(table[end] - table[begin]) for table in (self.metres, self.strides))
        return np.where(metres > LEAST_M, metres, 0.0), np.where(metres > LEAST_M, strides, 0.0)

    def by_source(self, horse: ArrayLike, after: ArrayLike, until: ArrayLike) -> Floats:
        """Return (m, sources) metres over windows by who says so, in the order of `SOURCES`."""
        begin, end = self.between(horse, after, until)
        return np.maximum(self.sources[end] - self.sources[begin], 0.0)

    def each(self, low_ms: float = 0.0, high_ms: float = np.inf) -> Floats:
        """Return (n,) metres of every horse-day between two speeds."""
        return self.sums(self.key // SPAN, self.key % SPAN - 1, self.key % SPAN, low_ms, high_ms).metres


def _placed(horse: Ints, day: Ints) -> tuple[Ints, Ints]:
    """Return the horse-days that there are, rising, and the place of each row among them.

    Days of a yard lie close together, so that what there is is ticked off in one table of horses and days, without
    sorting; where they lie far apart they are sorted.
    """
    if not horse.size:
        return keys(horse, day), np.empty(0, dtype=np.int64)
    first, horses = int(day.min()), int(horse.max()) + 1
    span = int(day.max()) - first + 1
    if horses * span > DENSE * horse.size or first < 0 or horse.min() < 0:
        return np.unique(keys(horse, day), return_inverse=True)
    code = horse * span + (day - first)
    seen = np.zeros(horses * span, dtype=np.bool_)
    seen[code] = True
    there = np.flatnonzero(seen)
    return keys(there // span, there % span + first), (np.cumsum(seen) - 1)[code]


def _before(cell: Ints, amount: Floats, rows: int) -> Floats:
    """Return (rows + 1, COUNT + 1): all that stands above and to the left, of amounts in flat cells."""
    table = np.zeros((rows + 1, COUNT + 1))
    table[1:, 1:] = np.bincount(cell, amount, rows * COUNT).reshape(rows, COUNT)
    np.cumsum(table, axis=0, out=table)
    return np.asarray(np.cumsum(table, axis=1, out=table))


def _box(table: Floats, begin: Ints, end: Ints, low: int, high: int) -> Floats:
    inside = table[end, high] - table[begin, high] - table[end, low] + table[begin, low]
    return np.where(inside > LEAST_M, inside, 0.0)
