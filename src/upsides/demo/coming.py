"""Programmes of races to come in the invented country, as they were published: with the wording of conditions."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from math import ceil
from typing import Any, Final
from zoneinfo import ZoneInfo

import numpy as np
import polars as pl

from upsides.demo.courses import ALL_COURSES, Course
from upsides.demo.invented import Invented
from upsides.demo.programme import Conditions, conditions, meetings
from upsides.demo.sizes import SIZES
from upsides.demo.writing import SOURCE
from upsides.results.programme_rows import PROGRAMME

AHEAD: Final = 90
"""Days after today that the programmes reach."""
FIRST_HEARD, LAST_HEARD = timedelta(days=20), timedelta(days=6)
"""How long before today the two programmes came out; the later one moves a meeting by a day."""
RACES: Final = 7
_FIRST_OFF: Final = (13, 30)
_BETWEEN: Final = timedelta(minutes=35)
_PARTS: Final = (0.54, 0.21, 0.105, 0.055, 0.03)
"""What first, second ... receive of the whole prize."""
_ENTRY, _LATE = 0.004, 0.03
"""Parts of the prize that an entry, and a late one, cost."""
_LEAST_LB: Final = 112.0
"""No horse carries less in the handicaps that the yard means horses for."""
_AGES: Final = {"2yo": "two yrs old only", "3yo": "three yrs old only", "3yo+": "three yrs old and upwards"}
_OLDER: Final = "four yrs old and upwards"
_PRESENTS: Final = "The winning owner receives a memento."
_NEAR: Final = "Preference is given to horses trained within forty miles of the course."
"""Words that no reading of conditions knows."""
_SURFACES: Final = {course.name: course.surface for course in ALL_COURSES}


@dataclass(frozen=True, slots=True)
class Meeting:
    """A day of racing that is planned."""

    day: date
    course: Course
    races: tuple[Conditions, ...]


def programmes(invented: Invented, engagements: pl.DataFrame) -> pl.DataFrame:
    """Return the programmes that the yard has heard: columns of `PROGRAMME` and `heard`, the day on which each came.

    Args:
        invented: the world; the programmes reach `AHEAD` days beyond its today.
        engagements: what horses of the yard are meant for; those races stand in the programmes too.
    """
    rng = np.random.default_rng([invented.seed, 7])
    zone = ZoneInfo(invented.yard.zone)
    planned = _meetings(rng, invented)
    marks = dict(invented.stays.drop_nulls("mark").select("source_horse", "mark").iter_rows())
    own = _of_engagements(engagements.filter(pl.col("day") >= invented.today), marks, zone)
    first = [row for one in planned for row in _rows(one, invented.yard.zone)]
    moved = _moved(planned, invented.today + timedelta(days=30), invented.yard.zone)
    heard = {invented.today - FIRST_HEARD: [*first, *own], invented.today - LAST_HEARD: moved}
    frames = [
        pl.DataFrame(rows, schema=PROGRAMME).with_columns(heard=pl.lit(day)).sort("day", "course", "number")
        for day, rows in heard.items()
    ]
    return pl.concat(frames)


def _meetings(rng: np.random.Generator, invented: Invented) -> list[Meeting]:
    raced = set(invented.races["course"])
    size = next(one for one in SIZES.values() if raced <= {course.name for course in one.courses})
    ahead = meetings(rng, size, invented.today + timedelta(days=3), invented.today + timedelta(days=AHEAD + 1))
    return [
        Meeting(day, course, tuple(conditions(rng, course, day) for _ in range(RACES))) for day, course in list(ahead)
    ]


def _moved(planned: Iterable[Meeting], after: date, zone: str) -> list[dict[str, Any]]:
    """Return the rows of the first meeting after a day, put off to the next day."""
    meeting = next(one for one in planned if one.day > after)
    was = {row["number"]: row["race_id"] for row in _rows(meeting, zone)}
    later = replace(meeting, day=meeting.day + timedelta(days=1))
    told = {"moved_from": meeting.day, "going": "good, watered"}
    return [row | told | {"race_id": was[row["number"]]} for row in _rows(later, zone)]


def _rows(meeting: Meeting, zone: str) -> list[dict[str, Any]]:
    off = datetime.combine(meeting.day, time(*_FIRST_OFF), ZoneInfo(zone))
    return [
        _row(meeting, race, number, (off + (number - 1) * _BETWEEN).astimezone(UTC))
        | _dues(race, meeting.day, ZoneInfo(zone))
        | {"zone": zone}
        for number, race in enumerate(meeting.races, start=1)
    ]


def _row(meeting: Meeting, race: Conditions, number: int, off: datetime) -> dict[str, Any]:
    low, high = race.band or (None, None)
    straight = race.trip.bend == "straight"
    return {
        "source": SOURCE,
        "race_id": f"{meeting.day:%Y%m%d}-{number}",
        "day": meeting.day,
        "course": meeting.course.name,
        "jurisdiction": "XU",
        "number": str(number),
        "title": race.title,
        "code": "flat",
        "surface": meeting.course.surface,
        "distance_m": float(race.trip.distance_m),
        "race_class": race.race_class,
        "ages": race.ages,
        "rating_low": low,
        "rating_high": high,
        "conditions": wording(race, near=number == RACES and meeting.day.day % 3 == 0),
        "prize": float(race.prize),
        "prizes": [round(race.prize * part) * 1.0 for part in _PARTS],
        "currency": "XTS",
        "off_at": off,
        "most_runners": race.room,
        "stall_side": "stand side" if straight else "inside",
        "bend": race.trip.bend,
        "to_bend_m": None if straight else float(200 + race.trip.distance_m % 400),
        "file": "simulated",
        "line": number,
    }


def wording(race: Conditions, *, near: bool = False) -> str:
    """Return the conditions of a race as a programme writes them."""
    ages = f"For {_AGES.get(race.ages, _OLDER)}"
    said = {
        "maiden": [f"{ages}, which have not won a race", "Weights: 9st 7lb each", "Fillies and mares allowed 3lb"],
        "novice": [
            f"{ages}, which have not won more than two races",
            "Weights: 9st 7lb each",
            "Fillies and mares allowed 3lb",
            "Penalties: for each race won 6lb",
        ],
        "stakes": [
            ages,
            "Weights: 9st 7lb each",
            "Fillies and mares allowed 3lb",
            "Penalties: a winner of a Group 1 or Group 2 race 5lb",
        ],
        "handicap": [f"{ages}, rated {race.band[0]}-{race.band[1]}" if race.band else ages, "Highest weight 9st 11lb"],
    }[race.kind]
    if race.kind != "handicap" and race.oldest > race.youngest:
        said.insert(2, "Weight for age")
    return " ".join(f"{sentence}." for sentence in said) + f" {_NEAR if near else _PRESENTS}"


def _dues(race: Conditions, day: date, zone: ZoneInfo) -> dict[str, Any]:
    """Return by when what must be said, and what it costs: a good race closes early and is confirmed once more."""

    def at(before: int, hour: int) -> datetime:
        return datetime.combine(day - timedelta(days=before), time(hour), zone).astimezone(UTC)

    cost = _whole(race.prize * _ENTRY)
    plain = {"enter_by": at(6, 12), "enter_fee": cost, "declare_by": at(2, 10), "declare_fee": cost}
    if race.kind != "stakes":
        return plain
    early = {"enter_by": at(21, 12), "confirm_by": at(5, 12), "confirm_fee": cost}
    return plain | early | {"supplement_by": at(5, 12), "supplement_fee": _whole(race.prize * _LATE)}


def _whole(amount: float) -> float:
    return float(5 * max(1, round(amount / 5)))


def _of_engagements(engagements: pl.DataFrame, marks: dict[str, float], zone: ZoneInfo) -> list[dict[str, Any]]:
    """Return the races that horses are meant for: handicaps up to the best mark of those that are meant for them."""
    races = engagements.with_columns(mark=pl.col("source_horse").replace_strict(marks, default=None)).group_by(
        "race", "course", "day", maintain_order=True
    )
    rows = races.agg(pl.all().exclude("mark").first(), pl.col("mark").max()).iter_rows(named=True)
    return [_of_one(row, number, zone) for number, row in enumerate(rows, start=1)]


def _of_one(row: dict[str, Any], number: int, zone: ZoneInfo) -> dict[str, Any]:
    prize, high = 11_000, 5 * ceil((row["mark"] or 100) / 5)
    return {
        "source": SOURCE,
        "race_id": f"{row['day']:%Y%m%d}-m{number}",
        "day": row["day"],
        "course": row["course"],
        "zone": str(zone),
        "jurisdiction": row["country"],
        "number": f"{10 + number}",
        "title": row["race"],
        "code": "flat",
        "surface": _SURFACES[row["course"]],
        "distance_m": float(row["distance_m"]),
        "race_class": "4",
        "conditions": f"For horses rated 0-{high}. Highest weight 9st 11lb. {_PRESENTS}",
        "rating_high": high,
        "least_weight_lb": _LEAST_LB,
        "prize": float(prize),
        "prizes": [round(prize * part) * 1.0 for part in _PARTS],
        "currency": "XTS",
        "most_runners": 16,
        "file": "simulated",
        "line": number,
    } | {name: row[name] for name in ("off_at", "enter_by", "confirm_by", "declare_by")} | {
        f"{stage}_fee": _whole(prize * _ENTRY) for stage in ("enter", "confirm", "declare")
    }  # fmt: skip
