"""Days of a kind, by horse: fast work, runs, ends of lay-ups, journeys, swims; how long ago, how often."""

from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from upsides.condition.done.days import SPAN, keys

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Dates:
    """n horse-days.

    Attributes:
        key: (n,) rising, each once; `keys` of horse and day.
        amount: (n + 1,) what all before come to together: metres, minutes, or how many they are.
    """

    key: Ints
    amount: Floats

    @classmethod
    def of(cls, horse: ArrayLike, day: ArrayLike, amount: ArrayLike = 1.0) -> Self:
        """Return the days, in any order; amounts of the same horse and day add up, and of days alone each is one."""
        listed = keys(horse, day)
        key, place = np.unique(listed, return_inverse=True)
        each = np.bincount(place, np.broadcast_to(np.asarray(amount, dtype=np.float64), listed.shape), key.size)
        return cls(key, np.r_[0.0, np.cumsum(each)])

    def since(self, horse: ArrayLike, day: ArrayLike) -> Floats:
        """Return (m,) days since the last one on or before a day; NaN where there is none."""
        at = keys(horse, day)
        last = np.searchsorted(self.key, at, side="right") - 1
        found = self.key[np.maximum(last, 0)] if self.key.size else np.full(at.shape, -SPAN)
        same = (last >= 0) & (found // SPAN == at // SPAN)
        return np.where(same, at - found, np.nan)

    def until(self, horse: ArrayLike, day: ArrayLike) -> Floats:
        """Return (m,) days since the first one, where that is on or before a day; NaN where there is none."""
        at = keys(horse, day)
        first = np.searchsorted(self.key, at - at % SPAN)
        found = np.r_[self.key, np.iinfo(np.int64).max][first]
        return np.where((found <= at) & (found // SPAN == at // SPAN), (at - found).astype(np.float64), np.nan)

    def count(self, horse: ArrayLike, day: ArrayLike, window: int) -> Ints:
        """Return (m,) on how many of the days in (day - window, day] it was so."""
        begin, end = self._window(horse, day, window)
        return end - begin

    def total(self, horse: ArrayLike, day: ArrayLike, window: int) -> Floats:
        """Return (m,) what the days in (day - window, day] come to together."""
        begin, end = self._window(horse, day, window)
        return self.amount[end] - self.amount[begin]

    def _window(self, horse: ArrayLike, day: ArrayLike, window: int) -> tuple[Ints, Ints]:
        when = np.asarray(day, dtype=np.int64)
        return tuple(np.searchsorted(self.key, keys(horse, one), side="right") for one in (when - window, when))  # type: ignore[return-value]
