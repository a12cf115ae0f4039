"""Two and a half seasons of the invented country, and the invented yard's own string."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import polars as pl
from numpy.typing import NDArray

from upsides.demo.country import COURSES, Course, Ground, ground_of_day
from upsides.demo.field import FEWEST, World, declare
from upsides.demo.horses import Horses, breed
from upsides.demo.programme import Conditions, conditions, meetings
from upsides.demo.record import blank_record, eligible, note
from upsides.demo.running import Truth, finish, true_run
from upsides.demo.trainers import TRAINERS, hire
from upsides.demo.writing import Row, grown_sex, race_row, run_rows, source_horse, truth_rows, truth_today
from upsides.results.schema import RACES, RUNS, polars_schema

FIRST = date(2024, 1, 3)
TODAY = date(2026, 6, 20)
"""The invented yard's own today; the last race was run before it."""

_RACES_A_DAY = 6
_DRAFTS = 2
"""Races thought of for each that is run: the one with more entries goes on the card."""

_TRUTH = {
    "race_key": pl.String,
    "source_horse": pl.String,
    "date": pl.Date,
    **dict.fromkeys(
        ("level_lb", "trip_lb", "going_lb", "surface_lb", "draw_lb", "rider_lb", "luck_lb", "figure_lb"),
        pl.Float64,
    ),
    **dict.fromkeys(("eased_lengths", "best_trip_m", "trip_width_octaves"), pl.Float64),
}


@dataclass(frozen=True, slots=True)
class Invented:
    """The invented world, values only.

    Args:
        today: its own today.
        races: columns of `upsides.results.schema.RACES`.
        runs: columns of `upsides.results.schema.RUNS`.
        string: the yard's own horses: source_horse, name, foaled, sex, sire, dam.
        truth: one row a start and one a horse on `today` (race_key empty): race_key, source_horse, date,
            level_lb (true level at best trip and ground, weight for age allowed), trip_lb, going_lb,
            surface_lb, draw_lb, rider_lb, luck_lb, figure_lb (the sum: what the run was truly
            worth before easing), eased_lengths, best_trip_m, trip_width_octaves.
    """

    today: date
    races: pl.DataFrame
    runs: pl.DataFrame
    string: pl.DataFrame
    truth: pl.DataFrame


@dataclass(frozen=True, slots=True)
class Rows:
    """Rows gathered while racing."""

    races: list[Row]
    runs: list[Row]
    truth: list[Row]


def simulate(seed: int = 17, first: date = FIRST, today: date = TODAY) -> Invented:
    """Simulate the invented country and its yard.

    Args:
        seed: the whole world follows from it.
        first: first day of racing.
        today: the day after the last possible race; crops and careers are laid out around the default.

    Returns:
        Races, runs, the yard's string and the truth behind them.
    """
    rng = np.random.default_rng(seed)
    people = hire(rng)
    horses = breed(rng, first, today, TRAINERS)
    slopes = {
        (course.name, trip.distance_m): float(rng.normal(0, 1.5 if trip.bend == "straight" else 3.0))
        for course in COURSES
        for trip in course.trips
    }
    world = World(horses, people, blank_record(rng, horses, people), slopes)
    rows = Rows([], [], [])
    for day, course in meetings(rng, first, today):
        _race_day(rng, world, day, course, rows)
    rows.truth.extend(truth_today(horses, today))
    return Invented(
        today,
        pl.DataFrame(rows.races, schema=polars_schema(RACES)),
        pl.DataFrame(rows.runs, schema=polars_schema(RUNS)),
        _string(horses, today),
        pl.DataFrame(rows.truth, schema=_TRUTH),
    )


def _race_day(rng: np.random.Generator, world: World, day: date, course: Course, rows: Rows) -> None:
    ground = ground_of_day(rng, course, day)
    number = 0
    for _ in range(_RACES_A_DAY):
        drawn = [conditions(rng, course, day) for _ in range(_DRAFTS)]
        entries = [_enter(rng, world, race, course, day) for race in drawn]
        race, entered = max(zip(drawn, entries, strict=True), key=lambda pair: pair[1].size)
        if entered.size >= FEWEST:
            number += 1
            _race(rng, world, day, course, ground, race, number, entered, rows)


def _enter(rng: np.random.Generator, world: World, race: Conditions, course: Course, day: date) -> NDArray[np.int64]:
    appetite = eligible(world.record, world.horses, race, course.surface, day)
    willing = np.flatnonzero(rng.random(appetite.size) < 0.75 * appetite)
    by_zeal = willing[np.argsort(-appetite[willing] * rng.random(willing.size))]
    return by_zeal[: race.room]


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
    truth = _truth(rng, world, course, race, day, ground, field.horse[go], field.started_from[go], field.rider[go])
    carried = (field.weight_lb - field.claim_lb)[go]
    front = world.horses.front[field.horse[go]]
    result = finish(rng, truth, carried, front, course, race.trip, ground)
    seen = truth.figure() + rng.normal(0, 2.0, go.size)
    key = f"invented:{day:%Y%m%d}-{number}"
    rows.races.append(race_row(key, day, number, course, ground, race, result, go.size))
    rows.runs.extend(run_rows(rng, world, key, day, race, field, result))
    rows.truth.extend(truth_rows(key, day, world.horses, field, truth))
    note(world.record, field.horse[go], race, day, result.position, seen, go.size)


def _truth(
    rng: np.random.Generator,
    world: World,
    course: Course,
    race: Conditions,
    day: date,
    ground: Ground,
    horse: NDArray[np.int64],
    started_from: NDArray[np.int64],
    rider: NDArray[np.int64],
) -> Truth:
    across = (started_from - 1) / (started_from.size - 1) - 0.5
    slope = world.slopes[course.name, race.trip.distance_m]
    rider_lb = np.array(world.people.rider_lb)[rider]
    return true_run(rng, world.horses, horse, course, race.trip, day, ground, across, slope, rider_lb)


def _string(horses: Horses, today: date) -> pl.DataFrame:
    own = [int(i) for i in np.flatnonzero((horses.trainer == 0) & (horses.ends > today.toordinal()))]
    rows = [
        {
            "source_horse": source_horse(i),
            "name": horses.names[i],
            "foaled": int(horses.foaled[i]),
            "sex": grown_sex(str(horses.sex[i]), today.year - int(horses.foaled[i])),
            "sire": horses.sires[horses.sire[i]],
            "dam": horses.dams[i],
        }
        for i in own
    ]
    schema = {"source_horse": pl.String, "name": pl.String, "foaled": pl.Int16} | dict.fromkeys(
        ("sex", "sire", "dam"), pl.String
    )
    return pl.DataFrame(rows, schema=schema).sort("name")
