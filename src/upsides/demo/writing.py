"""Rows of the results schema, and of the truth, from one simulated race."""

from datetime import date

import numpy as np

from upsides.demo.clock import section_lengths
from upsides.demo.country import Course, Ground
from upsides.demo.field import Field, World
from upsides.demo.horses import Horses, level_on
from upsides.demo.programme import Conditions
from upsides.demo.running import Finish, Truth

Row = dict[str, object]
SOURCE = "invented"


def source_horse(index: int) -> str:
    """Return the invented source's own number for the horse at `index`."""
    return f"{SOURCE}:H{index + 1:04d}"


def race_row(
    key: str,
    day: date,
    number: int,
    course: Course,
    ground: Ground,
    race: Conditions,
    result: Finish,
    started: int,
) -> Row:
    """Return the race's row of the schema; columns left out are not published in this country."""
    low, high = race.band or (None, None)
    return {
        "race_key": key,
        "source": SOURCE,
        "race_id": key.removeprefix(f"{SOURCE}:"),
        "date": day,
        "course": course.name,
        "country": "XU",
        "race_no": number,
        "title": race.title,
        "code": "flat",
        "surface": course.surface,
        "distance_m": float(race.trip.distance_m),
        "going": ground.going,
        "rail": "",
        "bend": race.trip.bend,
        "race_class": race.race_class,
        "rating_low": low,
        "rating_high": high,
        "ages": race.ages,
        "prize": float(race.prize),
        "currency": "XTS",
        "winning_time_s": float(np.nanmin(result.times)),
        "section_m": section_lengths(race.trip.distance_m),
        "section_s": result.splits.leader_s.tolist(),
        "runners": started,
        "file": "simulated",
        "line": None,
    }


def run_rows(
    rng: np.random.Generator,
    world: World,
    key: str,
    day: date,
    race: Conditions,
    field: Field,
    result: Finish,
) -> list[Row]:
    """Return one row of the schema for each declared horse, in order of number worn."""
    number_worn = np.argsort(np.argsort(-field.weight_lb, kind="stable")) + 1
    starters = field.starters()
    rows = [_declared(rng, world, key, day, race, field, i) for i in range(field.horse.size)]
    for i, row in enumerate(rows):
        row["saddlecloth"] = int(number_worn[i])
    for j, i in enumerate(starters):
        rows[i].update(_started(result, j))
    for rank, j in enumerate(result.placing):
        rows[starters[j]].update(
            section_s=result.splits.own_s[rank].tolist(),
            section_position=result.splits.position[rank].tolist(),
            section_behind=result.splits.behind[rank].tolist(),
        )
    return sorted(rows, key=lambda row: int(str(row["saddlecloth"])))


def _declared(
    rng: np.random.Generator, world: World, key: str, day: date, race: Conditions, field: Field, i: int
) -> Row:
    horses, people, horse = world.horses, world.people, int(field.horse[i])
    age = day.year - int(horses.foaled[horse])
    has_mark = race.band is not None or not np.isnan(field.mark[i])
    return {
        "race_key": key,
        "source": SOURCE,
        "date": day,
        "source_horse": source_horse(horse),
        "horse_name": horses.names[horse],
        "suffix": "",
        "foaled": int(horses.foaled[horse]),
        "age": age,
        "sex": grown_sex(str(horses.sex[horse]), age),
        "outcome": "withdrawn",
        "dead_heat": False,
        "draw": int(field.draw[i]),
        "started_from": int(field.started_from[i]) or None,
        "carried_lb": float(field.weight_lb[i] - field.claim_lb[i]),
        "claim_lb": float(field.claim_lb[i]),
        "body_mass_kg": round(float(horses.mass_kg[horse] + 3 * min(age, 5) + rng.normal(0, 4))),
        "margin": "",
        "gear": str(rng.choice(["", "blinkers", "hood", "cheekpieces"], p=[0.86, 0.05, 0.05, 0.04])),
        "jockey": people.riders[field.rider[i]],
        "trainer": people.trainers[horses.trainer[horse]],
        "official_rating": float(field.mark[i]) if has_mark else None,
        "file": "simulated",
    }


def _started(result: Finish, j: int) -> Row:
    placed = result.position[j] > 0
    timed = not np.isnan(result.times[j])
    return {
        "outcome": result.outcome[j],
        "position": int(result.position[j]) if placed else None,
        "dead_heat": bool(result.dead_heat[j]),
        "beaten_lengths": float(result.lengths[j]) if timed else None,
        "margin": result.margins[j],
        "time_s": float(result.times[j]) if timed else None,
    }


def grown_sex(sex: str, age: int) -> str:
    """Return the word for a colt or filly at this official age: horse and mare from five."""
    return {"colt": "horse", "filly": "mare"}.get(sex, sex) if age >= 5 else sex


def truth_rows(key: str, day: date, horses: Horses, field: Field, truth: Truth) -> list[Row]:
    """Return the truth behind each start."""
    figures = truth.figure()
    return [
        {
            "race_key": key,
            **_true_horse(horses, int(horse), day),
            "level_lb": float(truth.level[j]),
            "trip_lb": float(truth.trip[j]),
            "going_lb": float(truth.going[j]),
            "surface_lb": float(truth.surface[j]),
            "draw_lb": float(truth.draw[j]),
            "rider_lb": float(truth.rider[j]),
            "luck_lb": float(truth.luck[j]),
            "figure_lb": float(figures[j]),
            "eased_lengths": float(truth.eased_lengths[j]),
        }
        for j, horse in enumerate(field.horse[field.starters()])
    ]


def truth_today(horses: Horses, today: date) -> list[Row]:
    """Return every horse's true level on `today`."""
    which = np.arange(len(horses.names))
    levels = level_on(horses, which, today)
    return [{"race_key": None, **_true_horse(horses, int(i), today), "level_lb": float(levels[i])} for i in which]


def _true_horse(horses: Horses, horse: int, day: date) -> Row:
    return {
        "source_horse": source_horse(horse),
        "date": day,
        "best_trip_m": float(horses.best_m[horse]),
        "trip_width_octaves": float(horses.width[horse]),
    }
