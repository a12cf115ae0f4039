"""The seasons of a world raced, day by day."""

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from upsides.demo.condition import spend
from upsides.demo.country import Ground, ground_of_day
from upsides.demo.courses import Course
from upsides.demo.entering import enter, free, habits_on
from upsides.demo.field import FEWEST, declare
from upsides.demo.finishing import finish
from upsides.demo.programme import Conditions, conditions, meetings
from upsides.demo.record import note
from upsides.demo.running import true_run
from upsides.demo.truths import truth_rows, truth_today
from upsides.demo.world import World
from upsides.demo.writing import Row, race_row, run_rows

_DRAFTS = 2
"""Races thought of for each that is run: the one with more entries goes on the card."""
_HANDICAPPER_SD_LB = 2.0


@dataclass(frozen=True, slots=True)
class Rows:
    """Rows gathered while racing."""

    races: list[Row]
    runs: list[Row]
    truth: list[Row]


def race_all(rng: np.random.Generator, world: World, first: date, today: date) -> Rows:
    """Race from `first` to the day before `today`, and add what is true on `today`."""
    rows = Rows([], [], [])
    for day, course in meetings(rng, world.size, first, today):
        _race_day(rng, world, day, course, rows)
    rows.truth.extend(truth_today(world, today))
    return rows


def _race_day(rng: np.random.Generator, world: World, day: date, course: Course, rows: Rows) -> None:
    ground = ground_of_day(rng, course, day)
    number = 0
    for _ in range(world.size.races):
        able = free(world, day)
        drawn = [conditions(rng, course, day) for _ in range(_DRAFTS)]
        entries = [enter(rng, world, able, race, course, day) for race in drawn]
        race, entered = max(zip(drawn, entries, strict=True), key=lambda pair: pair[1].size)
        if entered.size >= FEWEST:
            number += 1
            _race(rng, world, day, course, ground, race, number, entered, rows)


def _race(
    rng: np.random.Generator,
    world: World,
    day: date,
    course: Course,
    ground: Ground,
    race: Conditions,
    number: int,
    entered: NDArray[np.int64],
    rows: Rows,
) -> None:
    field = declare(rng, world, race, day, entered)
    go = field.starters()
    which = field.horse[go]
    truth = true_run(rng, world, which, course, race.trip, day, ground, field.started_from[go], field.rider[go])
    carried = (field.weight_lb - field.claim_lb)[go]
    result = finish(rng, truth, carried, world.horses.front[which], course, race.trip, ground)
    key = f"invented:{day:%Y%m%d}-{number}"
    rows.races.append(race_row(key, day, number, course, ground, race, result, go.size))
    rows.runs.extend(run_rows(rng, world, key, day, race, field, result))
    rows.truth.extend(truth_rows(key, day, world, which, truth))
    seen = truth.figure() + rng.normal(0, _HANDICAPPER_SD_LB, go.size)
    note(world.record, which, habits_on(world, which, day), race, day, result.position, seen)
    spend(world.horses, world.condition, which, race.trip.distance_m, day)
