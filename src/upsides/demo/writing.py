"""Rows of the results schema from one simulated race."""

from datetime import date

import numpy as np

from upsides.demo.clock import section_lengths
from upsides.demo.country import Ground
from upsides.demo.courses import Course
from upsides.demo.field import Field
from upsides.demo.finishing import Finish
from upsides.demo.horses import trainers_on
from upsides.demo.programme import Conditions
from upsides.demo.world import World

Row = dict[str, object]
SOURCE = "invented"
COUNTRY = "XU"
_GEAR = np.repeat(["", "blinkers", "hood", "cheekpieces"], [86, 5, 5, 4])


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
        "country": COUNTRY,
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
    rows = _declared(rng, world, key, day, race, field)
    for row, number in zip(rows, number_worn.tolist(), strict=True):
        row["saddlecloth"] = number
    for j, i in enumerate(starters):
        rows[i].update(_started(result, j))
    for rank, j in enumerate(result.placing):
        rows[starters[j]].update(
            section_s=result.splits.own_s[rank].tolist(),
            section_position=result.splits.position[rank].tolist(),
            section_behind=result.splits.behind[rank].tolist(),
        )
    return sorted(rows, key=lambda row: int(str(row["saddlecloth"])))


def _declared(rng: np.random.Generator, world: World, key: str, day: date, race: Conditions, field: Field) -> list[Row]:
    horses, people = world.horses, world.people
    foaled, trainer = horses.foaled[field.horse], trainers_on(horses, day.toordinal())[field.horse]
    mass = horses.mass_kg[field.horse] + 3 * np.minimum(day.year - foaled, 5) + rng.normal(0, 4, foaled.size)
    gear = rng.choice(_GEAR, foaled.size)
    rated = np.full(foaled.size, race.band is not None) | ~np.isnan(field.mark)
    return [
        {
            "race_key": key,
            "source": SOURCE,
            "date": day,
            "source_horse": source_horse(horse),
            "horse_name": horses.names[horse],
            "suffix": "",
            "foaled": int(foaled[i]),
            "age": day.year - int(foaled[i]),
            "sex": grown_sex(str(horses.sex[horse]), day.year - int(foaled[i])),
            "outcome": "withdrawn",
            "dead_heat": False,
            "draw": int(field.draw[i]),
            "started_from": int(field.started_from[i]) or None,
            "carried_lb": float(field.weight_lb[i] - field.claim_lb[i]),
            "claim_lb": float(field.claim_lb[i]),
            "body_mass_kg": round(float(mass[i])),
            "margin": "",
            "gear": str(gear[i]),
            "jockey": people.riders[field.rider[i]],
            "trainer": people.trainers[trainer[i]],
            "official_rating": float(field.mark[i]) if rated[i] else None,
            "file": "simulated",
        }
        for i, horse in enumerate(field.horse.tolist())
    ]


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
