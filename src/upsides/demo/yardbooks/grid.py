"""The days of the yard's horses as grids: who was there, who was let down, who ran, on which days fast work was done.

Every grid is (horses, days): horses in the order of `Invented.stays`, days from the first of racing to the day after
today, so that tomorrow's runners can be spared today.
"""

from dataclasses import dataclass
from datetime import date

import numpy as np
import polars as pl
from numpy.typing import NDArray

from upsides.demo.invented import Invented

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

EPOCH = date(1970, 1, 1).toordinal()
MONDAY, TUESDAY, WEDNESDAY, THURSDAY, FRIDAY, SATURDAY, SUNDAY = range(7)
NOTHING, NO_FAST, WALK, BOX = range(4)
"""What a vet's advice leaves of a day's work: all of it, no fast work, walking only, nothing."""
_LET_DOWN_DAYS = 21
"""A gap in the work of at least so many days is a rest and not a pause."""
_AFTER_COMING = 100
_USUAL = np.array([4.0, 0.0, 3.0, 3.2, 0.1, 2.0, 99.0])
_THRICE = np.array([3.0, 0.0, 3.2, 0.1, 3.4, 0.2, 99.0])
"""How far each weekday is from a work morning: Tuesday and Friday as a rule, Tuesday, Thursday, Saturday for three."""


@dataclass(frozen=True, slots=True)
class Grid:
    """The days of the yard's horses.

    Args:
        first: proleptic ordinal of the first day.
        today: column of today; one more day follows.
        codes: source_horse of each horse.
        here: whether the yard had the horse.
        at_work: whether it was in work, by the truth.
        let_down: whether it had its rest of the year.
        race_m: distance of the race it ran on the day, 0 for none.
        due: days of fast work that the truth has for the horse's week, (horses, weeks).
        week: which week each day is in, (days,).
    """

    first: int
    today: int
    codes: list[str]
    here: Bools
    at_work: Bools
    let_down: Bools
    race_m: Ints
    due: Ints
    week: Ints

    @property
    def days(self) -> int:
        """Return how many days there are, tomorrow among them."""
        return int(self.here.shape[1])

    @property
    def weekday(self) -> Ints:
        """Return the weekday of each day, Monday 0."""
        found: Ints = (self.first + np.arange(self.days) - 1) % 7
        return found

    @property
    def month(self) -> Ints:
        """Return the month of each day, January 1."""
        days = (self.first - EPOCH + np.arange(self.days)).astype("datetime64[D]")
        return days.astype("datetime64[M]").astype(np.int64) % 12 + 1

    def on(self, day: int) -> date:
        """Return the date of a column."""
        return date.fromordinal(self.first + int(day))

    def column(self, day: date) -> int:
        """Return the column of a date."""
        return day.toordinal() - self.first


def grid_of(invented: Invented) -> Grid:
    """Lay out the days of the yard's horses."""
    stays, first, today = invented.stays, invented.first.toordinal(), invented.today.toordinal()
    codes, days = stays["source_horse"].to_list(), today - first + 2
    day = first + np.arange(days)
    joined = stays["joined"].to_physical().to_numpy()[:, None] + EPOCH
    left = stays["left"].to_physical().fill_null(today + 9 - EPOCH).to_numpy()[:, None] + EPOCH
    here = (joined <= day) & (day < left)
    weeks = invented.work["week"].unique().sort().to_physical().to_numpy() + EPOCH
    shape = (len(codes), weeks.size)
    wide = invented.work.join(stays.select("source_horse").with_row_index(), on="source_horse").sort("index", "week")
    week = np.minimum((day - weeks[0]) // 7, weeks.size - 1)
    at_work = wide["at_work"].to_numpy().reshape(shape)[:, week] & here
    race_m = races_of(invented, codes, first, days)
    return Grid(
        first=first,
        today=days - 2,
        codes=codes,
        here=here,
        at_work=at_work,
        let_down=_rests(here, at_work),
        race_m=race_m,
        due=wide["fast"].to_numpy().reshape(shape).copy(),
        week=week,
    )


def races_of(invented: Invented, codes: list[str], first: int, days: int) -> Ints:
    """Return the metres that each horse raced on each day, 0 for none."""
    index = pl.DataFrame({"source_horse": codes}).with_row_index()
    ran = (
        invented.runs.filter(pl.col("outcome") != "withdrawn")
        .select("race_key", "source_horse", "date")
        .join(index, on="source_horse")
        .join(invented.races.select("race_key", "distance_m"), on="race_key")
    )
    race_m = np.zeros((len(codes), days), dtype=np.int64)
    race_m[ran["index"].to_numpy(), ran["date"].to_physical().to_numpy() + EPOCH - first] = ran["distance_m"].to_numpy()
    return race_m


def place_fast(rng: np.random.Generator, grid: Grid, advice: Ints) -> Bools:
    """Choose the days of fast work of every horse and week: as many as the truth has, on work mornings by preference.

    Args:
        rng: source of chance.
        grid: the days.
        advice: what a vet's advice leaves of each day's work; fast work keeps off all days of advice.

    Returns:
        Whether fast work is done, (horses, days): never on a Sunday, a race day, the day before or the day after.
    """
    raced = grid.race_m > 0
    kept_off = raced.copy()
    kept_off[:, :-1] |= raced[:, 1:]
    kept_off[:, 1:] |= raced[:, :-1]
    free = grid.at_work & ~kept_off & (advice == NOTHING) & (grid.weekday != SUNDAY)
    wanted = grid.due[:, grid.week]
    liked = np.where(wanted == 3, _THRICE[grid.weekday], _USUAL[grid.weekday]) + 0.5 * rng.random(free.shape)
    liked = np.where(free, liked, np.inf)
    starts = np.searchsorted(grid.week, np.arange(grid.due.shape[1]))
    fast = np.zeros(free.shape, dtype=np.bool_)
    for begin, end in zip(starts, [*starts[1:], grid.days], strict=True):
        own = liked[:, begin:end]
        if end == grid.days:  # the week goes on after the last day of the grid
            to_come = np.broadcast_to(
                _USUAL[(grid.weekday[-1] + 1 + np.arange(7 - own.shape[1])) % 7], (len(own), 7 - own.shape[1])
            )
            own = np.hstack([own, to_come])
        rank = own.argsort(axis=1, kind="stable").argsort(axis=1, kind="stable")
        chosen = (rank < wanted[:, begin, None]) & np.isfinite(own)
        fast[:, begin:end] = chosen[:, : end - begin]
    return fast


def spaced(grid: Grid, fast: Bools, gap: int) -> Bools:
    """Return days of fast work of which those of the week that is not over keep the yard's own days between.

    The later of two that are too near each other stays; races stay, and so do the works of weeks that are over.

    Args:
        grid: the days.
        fast: days of fast work, (horses, days).
        gap: of so many days in a row the yard has fast work, or a race, on one at the most.
    """
    found, raced = fast.copy(), grid.race_m > 0
    begin = int(np.searchsorted(grid.week, grid.week[grid.today]))
    for day in range(grid.days - 1, begin - 1, -1):
        first = max(day - gap + 1, 0)
        after = (found | raced)[:, day + 1 : day + gap].any(axis=1)
        before = raced[:, first:day].any(axis=1) | fast[:, first : max(begin, first)].any(axis=1)
        found[:, day] &= ~after & ~before
    return found


def runs_of_true(row: Bools) -> list[tuple[int, int]]:
    """Return where stretches of true begin and end (the first that is not)."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], row, [False]]).astype(np.int8)))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


def _rests(here: Bools, at_work: Bools) -> Bools:
    """Return the long gaps in the work of horses that had been in the yard for some months."""
    rests = np.zeros_like(here)
    for horse in range(here.shape[0]):
        came = int(here[horse].argmax())
        for begin, end in runs_of_true(here[horse] & ~at_work[horse]):
            if end - begin >= _LET_DOWN_DAYS and (came == 0 or begin >= came + _AFTER_COMING):
                rests[horse, begin:end] = True
    return rests
