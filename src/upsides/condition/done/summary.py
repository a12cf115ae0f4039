"""What one horse has done, for a page: windows, this week against last, fast work, runs, lay-ups."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

import numpy as np
from numpy.typing import NDArray

from upsides.condition.done.dates import Dates
from upsides.condition.done.days import NEVER, SPAN, Days
from upsides.condition.done.fast import FAST_MS, LAYUP_DAYS, LayUps, fast_days, lay_ups
from upsides.condition.done.rows import SOURCES
from upsides.recordings.bouts.bins import STEP_MS
from upsides.recordings.bouts.strides import CANTERS_MS

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

WINDOWS: Final = (7, 30, 60)
FAST_WORKS_DAYS: Final = 14
IDLE_DAYS: Final = 14
"""A horse of which no work is known for longer is out of work; our own choice."""
SWIMS_DAYS: Final = 30
NO_DATES: Final = Dates.of((), ())


@dataclass(frozen=True, slots=True, eq=False)
class Yard:
    """All that is known of what the horses of a yard did, h of them.

    Attributes:
        days: by day and speed.
        fast: the days of fast work.
        runs: the days of races.
        lay_ups: those that have ended.
        entered: (h,) day on which each entered training, as `date.toordinal` counts; 0 where not known.
        known_from: (h,) day from which on the yard knows what each did; 0 where not known.
        swims: the days of swimming, with their minutes.
        worked: the days whose work is told; None where every day of which anything is known is one.
        fast_ms: the border of fast work, m/s.
    """

    days: Days
    fast: Dates
    runs: Dates
    lay_ups: LayUps
    entered: Ints
    known_from: Ints
    swims: Dates
    worked: Dates | None = None
    fast_ms: float = FAST_MS

    def told_until(self, horse: int, on: date) -> date:
        """Return the day up to which sums tell what a horse did: the day before while its work of the day is not told.

        A window that ended with a day of which only a walk in hand is known would lack a day's work.
        """
        day = on.toordinal()
        told = (
            self.days.sums([horse], day - 1, day).told[0] > 0
            if self.worked is None
            else self.worked.count([horse], day, 1)[0] > 0
        )
        return on if told else on - timedelta(days=1)

    def since_work(self, horse: Ints, day: int | Ints) -> Floats:
        """Return (m,) days since the last day whose work is told; NaN where there is none."""
        worked = self.worked
        if worked is None:
            worked = Dates.of(self.days.key // SPAN, self.days.key % SPAN)
        return worked.since(horse, day)


@dataclass(frozen=True, slots=True)
class Bin:
    """What was done at one step of speed.

    Attributes:
        from_ms: the step's lower end, m/s; it is `STEP_MS` wide, and the last one has no upper end.
        metres: at it.
        strides: of these, None below the canter, where strides are not counted.
    """

    from_ms: float
    metres: float
    strides: float | None


@dataclass(frozen=True, slots=True)
class Window:
    """What was done in some days.

    Attributes:
        days: how many, the last of them included; None for since it entered training.
        metres: all of it.
        canter_m, fast_m: from the canter up to the border of fast work, and above it.
        strides, fast_strides: at canter and faster, and above the border.
        measured: share of the metres that were measured; None where there are none.
        by_source: metres by who says so, those that say anything.
        unknown: days of the window of which nothing at all is known.
        whole: whether the yard knew the horse all that time; else the sums are the least that it did.
        bins: the steps of speed at which it went at all, the slowest first.
    """

    days: int | None
    metres: float
    canter_m: float
    fast_m: float
    strides: float
    fast_strides: float
    measured: float | None
    by_source: Mapping[str, float]
    unknown: int
    whole: bool
    bins: tuple[Bin, ...]

    @property
    def empty(self) -> bool:
        """Whether nothing at all is known of any of its days."""
        return self.metres == 0 and self.days is not None and self.unknown >= self.days


@dataclass(frozen=True, slots=True)
class Week:
    """This week against the one before, in metres; the difference is never told as a ratio.

    Attributes:
        metres, before_m: all, in the last seven days and in the seven before.
        fast_m, fast_before_m: above the border of fast work.
    """

    metres: float
    before_m: float
    fast_m: float
    fast_before_m: float

    @property
    def more_m(self) -> float:
        """Metres more than in the week before."""
        return self.metres - self.before_m

    @property
    def fast_more_m(self) -> float:
        """Metres more above the border."""
        return self.fast_m - self.fast_before_m


@dataclass(frozen=True, slots=True)
class Done:
    """What a horse has done.

    Attributes:
        horse: its place.
        on: the day.
        until: the last day of windows and weeks: `on`, or the day before while `on` is not over.
        windows: of 7, 30 and 60 days, and since it entered training where that day is known.
        week: this week against last.
        since_fast, since_run: days since the last fast work and the last run; None where none is known.
        fast_works: days of fast work in 14 days.
        laid_up: days of a lay-up that has not ended; None outside of one.
        lay_up_lasted: how many days the last one was that has ended; None where there was none.
        since_lay_up: days since it ended.
        swims: days of swimming in 30 days.
        swum: minutes of it, of the days that somebody wrote them down for.
        since_work: days since the last day whose work is told; None where there is none.
    """

    horse: int
    on: date
    until: date
    windows: tuple[Window, ...]
    week: Week
    since_fast: int | None
    since_run: int | None
    fast_works: int
    laid_up: int | None
    lay_up_lasted: int | None
    since_lay_up: int | None
    swims: int
    swum: float
    since_work: int | None = None

    @property
    def idle(self) -> bool:
        """Whether no work of it is known in a fortnight."""
        return self.since_work is None or self.since_work > IDLE_DAYS


def yard_of(
    days: Days,
    runs: Dates,
    entered: Sequence[date | None],
    known_from: Sequence[date | None],
    swims: Dates = NO_DATES,
    worked: Dates | None = None,
    fast_ms: float = FAST_MS,
) -> Yard:
    """Return all that is known of a yard; see `Yard`."""
    fast = fast_days(days, runs, fast_ms)
    began, known = (
        np.array([0 if one is None else one.toordinal() for one in listed], dtype=np.int64)
        for listed in (entered, known_from)
    )
    return Yard(days, fast, runs, lay_ups(fast), began, known, swims, worked, fast_ms)


def string_done(yard: Yard, horses: Sequence[int], on: date, until: date | None = None) -> tuple[Done, ...]:
    """Return what horses have done up to a day, that day included.

    Args:
        yard: all that is known.
        horses: their places.
        on: the day.
        until: the last day of windows and weeks, where `on` is not over; days since anything count to `on`.
    """
    until = until or on
    horse, day, last = np.asarray(horses, dtype=np.int64), on.toordinal(), until.toordinal()
    entered = yard.entered[horse]
    listed = [_windows(yard, horse, until, np.full(horse.size, last - days), days) for days in WINDOWS]
    since_entry = _windows(yard, horse, until, np.where(entered > 0, entered - 1, NEVER), None)
    weeks = _weeks(yard, horse, last)
    fast, run = yard.fast.since(horse, day), yard.runs.since(horse, day)
    since, lasted = yard.lay_ups.last(horse, day)
    work = yard.since_work(horse, day)
    works = yard.fast.count(horse, day, FAST_WORKS_DAYS)
    swims, swum = yard.swims.count(horse, day, SWIMS_DAYS), yard.swims.total(horse, day, SWIMS_DAYS)
    return tuple(
        Done(
            int(horse[k]), on, until, (*(one[k] for one in listed), *([since_entry[k]] if entered[k] > 0 else [])),
            weeks[k],
            _days(fast[k]), _days(run[k]), int(works[k]), _days(fast[k]) if fast[k] >= LAYUP_DAYS else None,
            _days(lasted[k]), _days(since[k]), int(swims[k]), float(swum[k]),
            _days(work[k]),
        )
        for k in range(horse.size)
    )  # fmt: skip


def _days(value: float) -> int | None:
    return int(value) if np.isfinite(value) else None


def _windows(yard: Yard, horse: Ints, on: date, after: Ints, days: int | None) -> list[Window]:
    until, border = on.toordinal(), yard.fast_ms
    every = yard.days.sums(horse, after, until)
    canter = yard.days.sums(horse, after, until, CANTERS_MS, border)
    fast = yard.days.sums(horse, after, until, border)
    sourced = yard.days.by_source(horse, after, until)
    whole = (yard.known_from[horse] > 0) & (yard.known_from[horse] <= after + 1)
    return [
        Window(
            days, float(every.metres[k]), float(canter.metres[k]), float(fast.metres[k]),
            float(canter.strides[k] + fast.strides[k]), float(fast.strides[k]),
            float(every.measured[k]) if np.isfinite(every.measured[k]) else None,
            {name: float(far) for name, far in zip(SOURCES, sourced[k], strict=True) if far > 0.5},
            int(max(until - after[k] - every.told[k], 0)), bool(whole[k]), _bins(yard, int(horse[k]), after[k], until),
        )
        for k in range(horse.size)
    ]  # fmt: skip


def _bins(yard: Yard, horse: int, after: int, until: int) -> tuple[Bin, ...]:
    metres, strides = yard.days.profile(horse, after, until)
    return tuple(
        Bin(k * STEP_MS, float(metres[k]), float(strides[k]) if k * STEP_MS >= CANTERS_MS else None)
        for k in np.flatnonzero(metres).tolist()
    )


def _weeks(yard: Yard, horse: Ints, day: int) -> list[Week]:
    spans = ((day - 7, day), (day - 14, day - 7))
    every, fast = (
        [yard.days.sums(horse, after, until, border).metres for after, until in spans] for border in (0.0, yard.fast_ms)
    )
    return [
        Week(float(every[0][k]), float(every[1][k]), float(fast[0][k]), float(fast[1][k])) for k in range(horse.size)
    ]
