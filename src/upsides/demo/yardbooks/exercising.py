"""Lines of work: what was done, what is ordered for today, what riders said, lessons at the stalls."""

from datetime import datetime, time, timedelta
from typing import Final

import numpy as np
import polars as pl

from upsides.demo.yardbooks.grid import THURSDAY, Bools, Ints
from upsides.demo.yardbooks.lines import lines, said
from upsides.demo.yardbooks.seasons import Seasons
from upsides.demo.yardbooks.working import EXERCISES, GALLOPS, HACK, HALF, OFF, QUICK, RACE, WALKER
from upsides.planning.defaults import read_defaults

_ON_ITS_OWN_S = 9 * 3600
_RACE_S = 14 * 3600
_ORDERED_AT = time(17, 30)
_WORDS_OF_LATE, _WORDS_BEFORE = 120, 0.05
_FELT = ("usual", "well", "flat", "keen", "uneven")
_FELT_ODDS = np.array([0.62, 0.2, 0.08, 0.09, 0.01])
_LESSONS = (
    (["walked_through"], "uneasy"),
    (["walked_through", "stood"], "composed"),
    (["stood"], "composed"),
    (["stood", "shut"], "uneasy"),
    (["shut", "walked_out"], "composed"),
    (["shut", "jumped"], "composed"),
    (["jumped", "company"], "composed"),
    (["jumped", "company", "test"], "composed"),
)
"""Lessons in their order; the last ends the path with the test."""
_SLOW_EVERY: Final = 6
"""Of so many lessons with a jump a horse is slow away in one."""
_CHANGED = 3
"""So many of yesterday's horses did another thing than was ordered."""


def exercises(rng: np.random.Generator, seasons: Seasons) -> pl.DataFrame:
    """Return what was done up to yesterday; days off are written down of late only."""
    work, grid = seasons.work, seasons.grid
    done = work.exercise > 0
    done[:, grid.today :] = False
    done[:, : seasons.lately[0]] &= work.exercise[:, : seasons.lately[0]] != OFF
    horses, days = np.nonzero(done)
    changed = np.zeros(days.size, dtype=np.bool_)
    able = np.flatnonzero((days == grid.today - 1) & np.isin(work.exercise[horses, days], (HACK, 8)))
    changed[rng.choice(able, min(_CHANGED, able.size), replace=False)] = True
    values = [
        said(exercise=EXERCISES[WALKER], text="Lost a shoe on the way out.") if other else _values(seasons, horse, day)
        for horse, day, other in zip(horses.tolist(), days.tolist(), changed.tolist(), strict=True)
    ]
    return lines(
        "exercise",
        horse=seasons.codes(horses),
        day=grid.first + days,
        second=begins(seasons, horses, days) + rng.integers(600, 2400, days.size),
        author=seasons.names(
            np.where(
                work.lot[horses, days] > 0, seasons.hands.lead[days], seasons.hands.head[seasons.own.barn[horses], days]
            )
        ),
        values=values,
    )


def orders(seasons: Seasons) -> pl.DataFrame:
    """Return what is ordered for yesterday and for today, each written down on the evening before."""
    return pl.concat([_ordered(seasons, day) for day in (seasons.grid.today - 1, seasons.grid.today)])


def _ordered(seasons: Seasons, day: int) -> pl.DataFrame:
    horses = np.flatnonzero(seasons.work.exercise[:, day] > 0)
    horses = horses[np.lexsort((seasons.work.place[horses, day], seasons.work.lot[horses, day]))]
    days = np.full(horses.size, day)
    evening = datetime.combine(seasons.grid.on(day - 1), _ORDERED_AT)
    places = seasons.work.place[horses, day].tolist()
    return lines(
        "ordered",
        horse=seasons.codes(horses),
        day=seasons.grid.first + days,
        second=begins(seasons, horses, days),
        author=seasons.names(seasons.hands.lead[days - 1]),
        values=[_values(seasons, int(horse), day, place or None) for horse, place in zip(horses, places, strict=True)],
        entered=[evening + timedelta(seconds=12 * i) for i in range(horses.size)],
    )


def _values(seasons: Seasons, horse: int, day: int, place: int | None = None) -> str:
    work = seasons.work
    rider, other, furlongs = (
        int(work.rider[horse, day]),
        int(work.upsides[horse, day]),
        float(work.furlongs[horse, day]),
    )
    return said(
        exercise=EXERCISES[work.exercise[horse, day]],
        lot=int(work.lot[horse, day]) or None,
        place=place,
        gallop=GALLOPS[work.gallop[horse, day]],
        rider=seasons.hands.names[rider] if rider >= 0 else None,
        furlongs=furlongs or None,
        upsides=[seasons.grid.codes[other]] if other >= 0 else [],
    )


def begins(seasons: Seasons, horses: Ints, days: Ints) -> Ints:
    """Return when horses went out on days, in seconds of the yard's own day: lots by the times that lots have."""
    work, times = seasons.work, read_defaults()
    lot, place = work.lot[horses, days], work.place[horses, days]
    raced = work.exercise[horses, days] == RACE
    out = 60 * (times.first + (lot - 1) * times.every)
    found: Ints = np.where(raced, _RACE_S, np.where(lot > 0, out + 20 * place, _ON_ITS_OWN_S))
    return found


def words_of_riders(rng: np.random.Generator, seasons: Seasons) -> pl.DataFrame:
    """Return what riders said after fast work: always of late, now and then before."""
    work, grid = seasons.work, seasons.grid
    asked = np.isin(work.exercise, (HALF, QUICK)) & (work.rider >= 0)
    asked[:, : max(0, grid.today - _WORDS_OF_LATE)] &= (
        rng.random((len(grid.codes), max(0, grid.today - _WORDS_OF_LATE))) < _WORDS_BEFORE
    )
    asked[:, grid.today :] = False
    horses, days = np.nonzero(asked)
    felt = rng.choice(len(_FELT), days.size, p=_FELT_ODDS)
    words = [said(felt=word) for word in _FELT]
    return lines(
        "rider_word",
        horse=seasons.codes(horses),
        day=grid.first + days,
        second=begins(seasons, horses, days) + rng.integers(2700, 4500, days.size),
        author=seasons.names(work.rider[horses, days]),
        values=[words[i] for i in felt.tolist()],
    )


def lessons(rng: np.random.Generator, seasons: Seasons) -> pl.DataFrame:
    """Return lessons at the stalls: two-year-olds from a month after they came until they have learned, and no more."""
    grid, thursday = seasons.grid, seasons.grid.weekday == THURSDAY
    rows = []
    for horse in range(len(grid.codes)):
        learning = _learning(seasons, horse, thursday)
        for turn, day in enumerate(learning.tolist()[: len(_LESSONS)]):
            done, how = _LESSONS[turn]
            told = "refused" if turn == 3 and rng.random() < 0.15 else how
            broke = "slow" if (horse + turn) % _SLOW_EVERY == 0 else "level"
            rows.append((horse, day, said(done=done, how=told, broke=broke if "jumped" in done else None)))
    horses, days = np.array([row[0] for row in rows]), np.array([row[1] for row in rows])
    return lines(
        "stalls",
        horse=seasons.codes(horses),
        day=grid.first + days,
        second=11 * 3600 + rng.integers(0, 3000, days.size),
        author=seasons.names(seasons.hands.lead[days]),
        values=[row[2] for row in rows],
    )


def _learning(seasons: Seasons, horse: int, thursday: Bools) -> Ints:
    """Return the days of one horse's lessons: Thursdays of its first months, before it ever ran."""
    grid = seasons.grid
    came = int(grid.here[horse].argmax())
    year = int(seasons.nature.foaled[horse]) + 2
    if grid.on(came).year > year or (came == 0 and grid.on(0).year >= year):
        return np.array([], dtype=np.int64)
    able: Bools = grid.at_work[horse] & thursday & (seasons.events.advice[horse] == 0)
    able &= ~np.isin(seasons.work.exercise[horse], (HALF, QUICK, RACE, 3))
    able[: came + 30] = False
    able[grid.today :] = False
    raced = np.flatnonzero(grid.race_m[horse] > 0)
    if raced.size:
        able[raced[0] :] = False
    return np.flatnonzero(able)
