"""The truth of a world as tables: of every start, every horse today, and every start of a course."""

from datetime import date

import numpy as np
import polars as pl

from upsides.demo.condition import fit_lb, fresh_lb, week_of
from upsides.demo.entering import habits_on
from upsides.demo.horses import Ints, level_on
from upsides.demo.running import Truth
from upsides.demo.trainers import HABITS
from upsides.demo.world import World
from upsides.demo.writing import Row, source_horse

_PARTS = ("level", "fit", "fresh", "trip", "going", "surface", "draw", "rider", "luck")

TRUTH = (
    {"race_key": pl.String, "source_horse": pl.String, "date": pl.Date, "habit": pl.String}
    | dict.fromkeys([f"{part}_lb" for part in (*_PARTS, "figure")], pl.Float64)
    | dict.fromkeys(("eased_lengths", "best_trip_m", "trip_width_octaves", "work_days"), pl.Float64)
)
"""Columns of the truth about starts."""


def truth_rows(key: str, day: date, world: World, which: Ints, truth: Truth) -> list[Row]:
    """Return the truth behind each start; `which` holds the starters as `truth` does."""
    parts = {f"{part}_lb": getattr(truth, part).tolist() for part in _PARTS}
    parts |= {"figure_lb": truth.figure().tolist(), "eased_lengths": truth.eased_lengths.tolist()}
    return [
        {"race_key": key, "date": day, **horse, **{name: values[j] for name, values in parts.items()}}
        for j, horse in enumerate(_horses_on(world, which, day))
    ]


def truth_today(world: World, today: date) -> list[Row]:
    """Return every horse's true level on `today`, and of those in training how fit and fresh they are."""
    horses = world.horses
    which = np.arange(len(horses.names))
    level = level_on(horses, which, today)
    fit, fresh = fit_lb(horses, world.condition, which, today), fresh_lb(horses, world.condition, which, today)
    here = (horses.trained_from <= today.toordinal()) & (today.toordinal() < horses.ends)
    return [
        {
            "race_key": None,
            "date": today,
            **horse,
            "level_lb": float(level[i]),
            "fit_lb": float(fit[i]) if here[i] else None,
            "fresh_lb": float(fresh[i]) if here[i] else None,
        }
        for i, horse in enumerate(_horses_on(world, which, today))
    ]


def _horses_on(world: World, which: Ints, day: date) -> list[Row]:
    work = world.condition.work[which, week_of(world.condition, day)]
    habit = habits_on(world, which, day)
    return [
        {
            "source_horse": source_horse(horse),
            "habit": HABITS[habit[j]].name,
            "best_trip_m": float(world.horses.best_m[horse]),
            "trip_width_octaves": float(world.horses.width[horse]),
            "work_days": float(work[j]),
        }
        for j, horse in enumerate(which.tolist())
    ]


def truth_horses(world: World) -> pl.DataFrame:
    """Return what every horse of the country is."""
    horses, people = world.horses, world.people
    return pl.DataFrame(
        {
            "source_horse": [source_horse(i) for i in range(len(horses.names))],
            "mature_lb": horses.mature_lb,
            "late_lb": horses.late_lb,
            "best_trip_m": horses.best_m,
            "trip_width_octaves": horses.width,
            "soft_lb": horses.soft_lb,
            "synthetic_lb": horses.synthetic_lb,
            "front_s": horses.front,
            "constitution": horses.constitution,
            "response": horses.response_lb,
            "trainer": [people.trainers[i] for i in horses.trainer],
            "habit": [HABITS[people.habits[i]].name for i in horses.trainer],
        }
    )


def truth_draws(world: World) -> pl.DataFrame:
    """Return what the draw is worth at every start of every course."""
    rows = [(course, float(distance), slope) for (course, distance), slope in world.slopes.items()]
    schema = {"course": pl.String, "distance_m": pl.Float64, "slope_lb": pl.Float64}
    return pl.DataFrame(rows, schema=schema, orient="row")
