"""Which horses wear trackers or a heart monitor, and the mornings on which they did."""

from datetime import date, datetime, time, timedelta
from typing import Any, Final
from zoneinfo import ZoneInfo

import numpy as np
import polars as pl

from upsides.demo.yardbooks.exercising import begins
from upsides.demo.yardbooks.grid import Ints
from upsides.demo.yardbooks.seasons import Seasons
from upsides.demo.yardbooks.working import EXERCISES, GALLOPS, HACK, HALF, QUICK, STEADY, WALKS

WORN: Final = 6
LATELY_DAYS: Final = 7
"""Of so many days the files are there."""
SEASON_DAYS: Final = 110
MONITOR_DAYS: Final = 77
"""For so many days heart monitors have gone round the other horses, once a week each, on a morning with work."""
_SERIALS: Final = ("40710260", "40710311", "40710352", "40710443", "40710507", "40710581", "40712216")
"""The last is the spare one, which no horse is known to wear."""
MONITOR: Final = -1
TRACKERS: Final = {"serial": pl.String(), "name": pl.String(), "source_horse": pl.String(), "since": pl.Date()}
OUTINGS: Final = {
    "source_horse": pl.String(),
    "beside": pl.String(),
    "serial": pl.String(),
    "day": pl.Date(),
    "pulled_out": pl.Datetime("us", "UTC"),
    "pace": pl.String(),
    "gallop": pl.String(),
    "furlongs": pl.Float64(),
    "rider": pl.String(),
    "fit": pl.Float64(),
    "fault": pl.String(),
    "lately": pl.Boolean(),
    "known": pl.Boolean(),
}
_BUILDS_UP_DAYS: Final = 45
"""So long a horse takes to become as fit, or as unfit, as it does."""
_RIDDEN: Final = (WALKS, HACK, STEADY, HALF, QUICK)


def wearers(seasons: Seasons) -> Ints:
    """Return the horses that wear trackers: pairs that went upsides in the last days, then those that worked most.

    One more follows, which wore the spare tracker on one morning.
    """
    work, grid = seasons.work, seasons.grid
    late = np.arange(max(0, grid.today - LATELY_DAYS), grid.today)
    long_here = np.asarray(grid.here[:, max(0, late[0] - SEASON_DAYS) : grid.today + 1].all(axis=1))
    chosen: list[int] = []
    for day in late[::-1].tolist():
        for one in np.flatnonzero(long_here & (work.upsides[:, day] >= 0)).tolist():
            other = int(work.upsides[one, day])
            if long_here[other] and not {one, other} & set(chosen) and len(chosen) < WORN - 1:
                chosen += [one, other]
    worked = np.isin(work.exercise[:, late], _RIDDEN).sum(axis=1) * long_here
    more = [one for one in np.argsort(-worked, kind="stable").tolist() if one not in chosen]
    return np.array([*chosen, *more][: WORN + 1])


def trackers(seasons: Seasons) -> pl.DataFrame:
    """Return the trackers: serial, name, source_horse (none for the spare one), since."""
    horses, since = wearers(seasons), _first(seasons)
    rows = [
        (serial, f"Tracker {n}", seasons.grid.codes[horse] if n <= WORN else None, since)
        for n, (serial, horse) in enumerate(zip(_SERIALS, horses.tolist(), strict=True), start=1)
    ]
    return pl.DataFrame(rows, schema=TRACKERS, orient="row")


def outings(rng: np.random.Generator, seasons: Seasons, done: pl.DataFrame) -> pl.DataFrame:
    """Return the mornings with a tracker, and those with a heart monitor, of which no file is there.

    Args:
        rng: source of chance.
        seasons: what the horses did.
        done: lines of what was done by the diary; what it says otherwise did not happen.

    Returns:
        Columns of `OUTINGS`: beside is the horse that it went upsides with and that wore one too, pace what the slower
        of the two did, lately whether its file is there, known whether the yard knows whose it is. A heart monitor has
        no serial number.
    """
    horses = wearers(seasons)
    rows = [row for turn, horse in enumerate(horses.tolist()) for row in _of_horse(rng, seasons, turn, horse, horses)]
    others = np.setdiff1d(np.flatnonzero(seasons.grid.here[:, seasons.grid.today]), horses)
    rows += [row for horse in others.tolist() for row in _monitored(rng, seasons, horse, horses)]
    as_said = done.select("source_horse", "day", own=pl.col("values").str.json_path_match("$.exercise"))
    made = pl.DataFrame(rows, schema=OUTINGS | {"own": pl.String()}, orient="row")
    kept = made.join(as_said, on=["source_horse", "day", "own"], how="semi").drop("own")
    return _faulty(kept.sort("pulled_out", "serial"))


def _of_horse(rng: np.random.Generator, seasons: Seasons, turn: int, horse: int, horses: Ints) -> list[tuple[Any, ...]]:
    """Return one horse's mornings; of the one with the spare tracker only the last on which it was ridden."""
    work, grid = seasons.work, seasons.grid
    days = np.arange(max(0, grid.today - SEASON_DAYS), grid.today)
    ridden = days[np.isin(work.exercise[horse, days], _RIDDEN) & (work.lot[horse, days] > 0)]
    fit = np.clip(0.25 + 0.6 * np.arange(days.size) / days.size + np.cumsum(rng.normal(0, 0.02, days.size)), 0, 1)
    known = turn < WORN
    return [
        _row(seasons, turn, horse, int(day), horses, float(fit[day - days[0]]), known=known)
        for day in (ridden if known else ridden[-1:])
    ]


def _monitored(rng: np.random.Generator, seasons: Seasons, horse: int, horses: Ints) -> list[tuple[Any, ...]]:
    """Return a horse's mornings with a heart monitor: the last one of each week on which it worked."""
    work, grid = seasons.work, seasons.grid
    days = np.arange(max(0, grid.today - MONITOR_DAYS), grid.today)
    worked = days[np.isin(work.exercise[horse, days], (HALF, QUICK)) & (work.lot[horse, days] > 0)]
    last = worked[np.r_[np.diff(grid.week[worked]) > 0, True]] if worked.size else worked
    gains = rng.uniform(-0.7, 1.0) * np.clip((np.arange(days.size) - rng.uniform(0, 50)) / _BUILDS_UP_DAYS, 0, 1)
    fit = np.clip(rng.uniform(0.1, 0.7) + gains + np.cumsum(rng.normal(0, 0.02, days.size)), 0, 1)
    return [_row(seasons, MONITOR, horse, int(day), horses, float(fit[day - days[0]]), known=True) for day in last]


def _row(
    seasons: Seasons, turn: int, horse: int, day: int, horses: Ints, fit: float, *, known: bool
) -> tuple[Any, ...]:
    """Return a morning of the tracker of a turn, of a heart monitor for `MONITOR`."""
    work, grid = seasons.work, seasons.grid
    other, rider, own = int(work.upsides[horse, day]), int(work.rider[horse, day]), int(work.exercise[horse, day])
    pace = min(own, int(work.exercise[other, day])) if other >= 0 else own
    second = int(begins(seasons, np.array([horse]), np.array([day]))[0])
    return (
        grid.codes[horse],
        grid.codes[other] if other >= 0 and known and turn != MONITOR and other in horses[:WORN] else "",
        "" if turn == MONITOR else _SERIALS[turn],
        grid.on(day),
        datetime.combine(grid.on(day), time(), ZoneInfo(seasons.invented.yard.zone)) + timedelta(seconds=second),
        EXERCISES[pace],
        GALLOPS[work.gallop[horse, day]],
        float(work.furlongs[horse, day]),
        seasons.hands.names[rider] if rider >= 0 else "",
        fit,
        "",
        turn != MONITOR and day >= grid.today - LATELY_DAYS,
        known,
        EXERCISES[own],
    )


def _faulty(found: pl.DataFrame) -> pl.DataFrame:
    """Let the file of the last morning of one tracker break off."""
    of = found.with_row_index().filter(pl.col("serial") == _SERIALS[WORN - 1])["index"].max()
    return found.with_columns(fault=pl.when(pl.int_range(pl.len()) == of).then(pl.lit("cut")).otherwise(pl.lit("")))


def _first(seasons: Seasons) -> date:
    return seasons.grid.on(max(0, seasons.grid.today - SEASON_DAYS))
