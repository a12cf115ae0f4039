"""What the trainer and the assistant called of horses, from the truth with noise and habits of their own.

The trainer is too sure of fitness (the log odds times 1.6), too hopeful of a place (0.6 added to them) and calls nearly
every horse well. The assistant sees less (twice the noise) and is sure of nothing (the log odds times 0.6). Shapes and
sizes are invented.
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Final
from zoneinfo import ZoneInfo

import numpy as np
import polars as pl
from scipy.special import expit, logit, ndtr

from upsides.demo.yardbooks.grid import Floats
from upsides.demo.yardbooks.seasons import Seasons
from upsides.trade.units import FURLONG_M

CALLS: Final = {
    "source_horse": pl.String(),
    "author": pl.String(),
    "about": pl.String(),
    "chance": pl.Float64(),
    "trip_f": pl.Float64(),
    "recorded_at": pl.Datetime("us", "UTC"),
}
OFFERED: Final = np.array([0.05, 0.1, 0.3, 0.5, 0.7, 0.9, 0.95])
"""What can be said."""
_BEFORE, _AT = timedelta(days=2), time(18, 20)
"""Called on the evening two days before the race."""
_IDLE: Final = 0.02
"""Chance that a horse without a race in sight is called on a Monday."""


SINCE: Final = timedelta(days=364)
"""So long before today the yard began to call."""
_NO_FOURTH_LB: Final = -1000.0
"""Where the fourth of a field of three would have run."""


@dataclass(frozen=True, slots=True)
class _Habit:
    """How somebody calls: how often, with how much noise (lb), how sure, how hopeful of a place."""

    role: str
    share: float
    noise_lb: float
    sure: float
    hopeful: float


_HABITS: Final = (_Habit("trainer", 0.6, 3.0, 1.6, 0.6), _Habit("assistant", 0.3, 6.0, 0.6, 0.0))


def calls(rng: np.random.Generator, seasons: Seasons) -> pl.DataFrame:
    """Return the calls: columns of `CALLS`, in the order in which they were made."""
    starts = _starts(seasons)
    parts = [_of_person(rng, seasons, starts, habit) for habit in _HABITS]
    parts.append(_idle(rng, seasons))
    end = datetime.combine(seasons.invented.today, time(), UTC)
    made = pl.concat(parts).filter(pl.col("recorded_at").is_between(end - SINCE, end, closed="left"))
    stays, day = seasons.invented.stays.select("source_horse", "joined", "left"), pl.col("recorded_at").dt.date()
    here = (pl.col("joined") <= day) & (pl.col("left").is_null() | (day < pl.col("left")))
    return (
        made.join(stays, on="source_horse")
        .filter(here)
        .select(CALLS.keys())
        .sort("recorded_at", "author", "source_horse", "about")
    )


def _starts(seasons: Seasons) -> pl.DataFrame:
    """Return the yard's starts with what each was worth without luck, and how that stood in its field, lb."""
    invented = seasons.invented
    runs = invented.runs.filter(pl.col("outcome") != "withdrawn").select(
        "race_key", "source_horse", "trainer", burden=pl.col("carried_lb") + pl.col("claim_lb").fill_null(0.0)
    )
    truth = invented.truth.drop_nulls("race_key").join(runs, on=["race_key", "source_horse"])
    off = (pl.col("figure_lb") - pl.col("luck_lb") - pl.col("level_lb")).alias("off")
    at = (pl.col("figure_lb") - pl.col("luck_lb") - pl.col("burden")).alias("at")
    known = truth.with_columns(off, at).with_columns(
        off=pl.col("off") - pl.col("off").mean().over("source_horse"),
        fourth=pl.col("at").sort(descending=True).slice(3, 1).first().over("race_key"),
    )
    ours = (pl.col("trainer") == invented.people["name"][0]) & pl.col("source_horse").is_in(seasons.grid.codes)
    return known.filter(ours).sort("date", "source_horse")


def _of_person(rng: np.random.Generator, seasons: Seasons, starts: pl.DataFrame, habit: _Habit) -> pl.DataFrame:
    """Return what somebody called before races: fit, first four, well, that it will run; and once a horse its trip."""
    invented = seasons.invented
    some = starts.filter(pl.Series(rng.random(starts.height) < habit.share))
    n, luck = some.height, float(np.nanstd(invented.truth["luck_lb"].to_numpy()))
    seen = rng.normal(0, habit.noise_lb, (2, n))
    fit = ndtr((some["off"].to_numpy() + seen[0] + 1.0) / luck)
    ahead = (some["at"] - some["fourth"].fill_null(_NO_FOURTH_LB)).to_numpy()
    place = ndtr((ahead + seen[1]) / (np.sqrt(2.0) * luck))
    said = {
        "fit": _leant(fit, habit.sure, 0.0),
        "first four": _leant(place, habit.sure, habit.hopeful),
        "fresh": np.full(n, 0.95) if habit.role == "trainer" else np.full(n, 0.9),
        "would run": rng.choice([0.9, 0.95], n),
    }
    first = some["source_horse"].is_first_distinct()
    about_trip = some.filter(first)
    best = about_trip["best_trip_m"].to_numpy() * 2.0 ** rng.normal(0, 0.02 * habit.noise_lb, about_trip.height)
    trips = np.clip(np.round(2 * best / FURLONG_M) / 2, 5.0, 14.0)
    whose = invented.people.filter(pl.col("roles").list.contains(habit.role))["login"][0]
    parts = [_frame(some, whose, about, chance, invented.yard.zone) for about, chance in said.items()]
    parts.append(_frame(about_trip, whose, "trip", np.full(about_trip.height, 0.7), invented.yard.zone, trips))
    return pl.concat(parts)


def _leant(chance: Floats, sure: float, hopeful: float) -> Floats:
    """Return chances as somebody says them, to the nearest that can be said."""
    leant = expit(sure * logit(np.clip(chance, 0.01, 0.99)) + hopeful)
    return np.asarray(OFFERED[np.abs(leant[:, None] - OFFERED).argmin(axis=1)])


def _frame(
    some: pl.DataFrame, author: str, about: str, chance: Floats, zone: str, trips: Floats | None = None
) -> pl.DataFrame:
    return pl.DataFrame(
        {
            "source_horse": some["source_horse"],
            "author": pl.repeat(author, some.height, eager=True),
            "about": pl.repeat(about, some.height, eager=True),
            "chance": chance,
            "trip_f": pl.repeat(None, some.height, dtype=pl.Float64, eager=True) if trips is None else trips,
            "recorded_at": [_evening(day, zone) for day in some["date"].to_list()],
        },
        schema=CALLS,
    )


def _evening(day: date, zone: str) -> datetime:
    return datetime.combine(day - _BEFORE, _AT, ZoneInfo(zone)).astimezone(UTC)


def _idle(rng: np.random.Generator, seasons: Seasons) -> pl.DataFrame:
    """Return what the trainer said of horses without a race in sight: that they will hardly run."""
    grid, zone = seasons.grid, ZoneInfo(seasons.invented.yard.zone)
    soon = np.zeros_like(seasons.present)
    for ahead in range(29):
        soon[:, : grid.days - ahead] |= grid.race_m[:, ahead : grid.days] > 0
    chosen = seasons.present & ~soon & (grid.weekday == 0) & (rng.random(soon.shape) < _IDLE)
    horses, days = np.nonzero(chosen)
    whose = seasons.invented.people.filter(pl.col("roles").list.contains("trainer"))["login"][0]
    stamps = [datetime.combine(grid.on(int(day)), _AT, zone).astimezone(UTC) for day in days]
    told = pl.DataFrame({"source_horse": seasons.codes(horses), "recorded_at": stamps},
                        schema={"source_horse": pl.String(), "recorded_at": CALLS["recorded_at"]})  # fmt: skip
    said = pl.Series(rng.choice([0.05, 0.1, 0.3], horses.size), dtype=pl.Float64)
    return told.select(
        "source_horse", author=pl.lit(whose), about=pl.lit("would run"), chance=said,
        trip_f=pl.lit(None, dtype=pl.Float64), recorded_at="recorded_at",
    )  # fmt: skip
