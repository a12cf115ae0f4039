"""Fast work: on which days, and how long it had been away.

A day of fast work is one with a furlong or more above the border, which is the 14 m/s of British fracture work
(Verheyen and others 2006) unless the yard sets another: the literature agrees on none. A run counts, whatever its time.
A lay-up is 60 days or more without fast work (the Californian studies: without a race or timed work); it ends with the
first fast work after it. A horse that never did fast work before has had no lay-up.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from upsides.condition.done.dates import Dates
from upsides.condition.done.days import SPAN, Days
from upsides.recordings.bouts.gaits import CANTER_FAST
from upsides.trade.units import FURLONG_M

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

FAST_MS: Final = CANTER_FAST.up_ms
LAYUP_DAYS: Final = 60


@dataclass(frozen=True, slots=True, eq=False)
class LayUps:
    """The lay-ups that have ended, n of them.

    Attributes:
        ends: the days of the first fast work after each.
        lasted: (n,) days without fast work before, in the order of `ends.key`.
    """

    ends: Dates
    lasted: Ints

    def last(self, horse: ArrayLike, day: ArrayLike) -> tuple[Floats, Floats]:
        """Return (m,) days since the last one ended, and how long it had lasted; NaN where there was none."""
        since = self.ends.since(horse, day)
        at = np.asarray(horse, dtype=np.int64) * SPAN + np.asarray(day, dtype=np.int64)
        place = np.searchsorted(self.ends.key, at, side="right") - 1
        lasted = np.r_[self.lasted, 0][np.maximum(place, 0)]
        return since, np.where(np.isfinite(since), lasted, np.nan)


def fast_days(days: Days, runs: Dates, border_ms: float = FAST_MS, least_m: float = FURLONG_M) -> Dates:
    """Return the days of fast work.

    Args:
        days: what was done.
        runs: the days of races.
        border_ms: above which speed work is fast.
        least_m: so many metres above it make a day of fast work.
    """
    metres = days.each(border_ms)
    found = np.union1d(days.key[metres >= least_m], runs.key)
    return Dates.of(found // SPAN, found % SPAN)


def lay_ups(fast: Dates, least: int = LAYUP_DAYS) -> LayUps:
    """Return the lay-ups between days of fast work."""
    gap = np.diff(fast.key)
    after = np.flatnonzero((gap >= least) & (np.diff(fast.key // SPAN) == 0))
    ends = fast.key[after + 1]
    return LayUps(Dates.of(ends // SPAN, ends % SPAN), gap[after])
