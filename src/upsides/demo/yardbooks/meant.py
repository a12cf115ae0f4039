"""Races that horses are meant for: those of today and tomorrow, those that must be answered soon, those just run."""

from datetime import UTC, date, datetime, time, timedelta
from typing import Final
from zoneinfo import ZoneInfo

import numpy as np
import polars as pl

from upsides.demo.names import race_name
from upsides.demo.yardbooks.seasons import LATELY, Seasons

_STAMP: Final = pl.Datetime("us", "UTC")
ENGAGEMENTS: Final = {
    "source_horse": pl.String(),
    "race": pl.String(),
    "course": pl.String(),
    "country": pl.String(),
    "zone": pl.String(),
    "day": pl.Date(),
    "off_at": _STAMP,
    "distance_m": pl.Int64(),
    "enter_by": _STAMP,
    "confirm_by": _STAMP,
    "declare_by": _STAMP,
    "state": pl.String(),
    "since": pl.Date(),
}
_ENTER_DAYS, _CONFIRM_DAYS, _DECLARE_DAYS = 6, 5, 2
"""Days before the race on which entries, confirmations and declarations close, at twelve, twelve and ten."""
_TO_COME: Final = ((2, "confirmed", 3), (3, "confirmed", 1), (5, "entered", 2), (6, "meant", 3), (7, "meant", 2))
"""Days ahead, how far it has come, and how many horses: two days ahead must be declared today, and so on."""


def engagements(rng: np.random.Generator, seasons: Seasons) -> pl.DataFrame:
    """Return what horses are meant for: columns of `ENGAGEMENTS`; since is the day on which it was written down."""
    rows = [*_run(seasons), *_now(rng, seasons), *_to_come(rng, seasons)]
    return pl.DataFrame(rows, schema=ENGAGEMENTS, orient="row").unique(
        ["source_horse", "race", "course", "day"], keep="first", maintain_order=True
    )


def _run(seasons: Seasons) -> list[tuple[object, ...]]:
    """Return the races of the last days."""
    invented = seasons.invented
    runs = invented.runs.filter(
        pl.col("source_horse").is_in(seasons.grid.codes),
        pl.col("date") >= invented.today - timedelta(days=LATELY),
        pl.col("trainer") == invented.people["name"][0],
    )
    known = runs.join(invented.races.select("race_key", "title", "course", "race_no", "distance_m"), on="race_key")
    return [
        _row(seasons, code, title, course, day, time(13 + number // 2, 30 * (number % 2)), metres,
             "withdrawn" if outcome == "withdrawn" else "declared")
        for code, title, course, day, number, metres, outcome in known.select(
            "source_horse", "title", "course", "date", "race_no", "distance_m", "outcome").sort("date").rows()
    ]  # fmt: skip


def _now(rng: np.random.Generator, seasons: Seasons) -> list[tuple[object, ...]]:
    morning, today = seasons.events.morning, seasons.invented.today
    courses = _courses(seasons)
    one, two = morning.runners
    return [
        _row(
            seasons,
            seasons.grid.codes[horse],
            f"{race_name(rng)} Handicap",
            courses[ahead],
            today + timedelta(days=ahead),
            time(hour, 20),
            metres,
            "declared",
        )
        for horse, ahead, hour, metres in ((morning.runner, 0, 14, 1200), (one, 1, 14, 1600), (two, 1, 16, 2000))
    ]


def _to_come(rng: np.random.Generator, seasons: Seasons) -> list[tuple[object, ...]]:
    """Return entries of healthy horses with their deadlines near: two days ahead to be declared today, and so on."""
    morning, grid = seasons.events.morning, seasons.grid
    busy = {morning.warm, morning.leg, morning.walking, morning.runner, *morning.runners, morning.due, morning.overdue}
    rested = (grid.race_m[:, grid.today - 12 : grid.today + 2] == 0).all(axis=1)
    fit = (
        grid.at_work[:, grid.today - 40 : grid.today + 1].all(axis=1)
        & seasons.invented.stays["mark"].is_not_null().to_numpy()
    )
    able = [int(i) for i in rng.permutation(np.flatnonzero(rested & fit)) if i not in busy]
    courses, rows = _courses(seasons), []
    for ahead, state, count in _TO_COME:
        title = f"{race_name(rng)} Handicap"
        chosen = [able.pop() for _ in range(min(count, len(able)))]
        metres = int(200 * round(np.mean([seasons.nature.best_m[horse] for horse in chosen or [0]]) / 200))
        for horse in chosen:
            day = seasons.invented.today + timedelta(days=ahead)
            rows.append(
                _row(seasons, grid.codes[horse], title, courses[ahead % len(courses)], day, time(15, 10), metres, state)
            )
    return rows


def _courses(seasons: Seasons) -> list[str]:
    return seasons.invented.races["course"].unique().sort().to_list()


def _row(
    seasons: Seasons, code: str, race: str, course: str, day: date, off: time, metres: float, state: str
) -> tuple[object, ...]:
    yard, today = seasons.invented.yard, seasons.invented.today

    def at(days: int, clock: time) -> datetime:
        return datetime.combine(day - timedelta(days=days), clock, ZoneInfo(yard.zone)).astimezone(UTC)

    since = min(day - timedelta(days=_ENTER_DAYS), today - timedelta(days=1))
    deadlines = at(_ENTER_DAYS, time(12)), at(_CONFIRM_DAYS, time(12)), at(_DECLARE_DAYS, time(10))
    return (code, race, course, yard.country, yard.zone, day, at(0, off), int(metres), *deadlines, state, since)
