"""The race programme of the invented country: which races are run on a day and on what conditions."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from upsides.demo.courses import Course, Trip
from upsides.demo.names import race_name
from upsides.demo.sizes import Size

_BANDS = {"2": (86, 105), "3": (76, 92), "4": (66, 82), "5": (56, 72), "6": (45, 62)}
_PRIZES = {"1": 60000, "2": 30000, "3": 17000, "4": 11000, "5": 7500, "6": 5500}


@dataclass(frozen=True, slots=True)
class Conditions:
    """What a race is, before anyone is entered.

    Args:
        kind: maiden, novice, handicap or stakes.
        title: its name on the card.
        race_class: "1" (best) to "6".
        trip: the start.
        ages: such as "2yo" or "3yo+".
        youngest, oldest: official ages allowed.
        band: lowest and highest mark of a handicap, else None.
        prize: total prize.
        room: most runners.
    """

    kind: str
    title: str
    race_class: str
    trip: Trip
    ages: str
    youngest: int
    oldest: int
    band: tuple[int, int] | None
    prize: int
    room: int


def meetings(rng: np.random.Generator, size: Size, first: date, today: date) -> Iterator[tuple[date, Course]]:
    """Yield the days of racing before `today`, on the size's weekdays with gaps, turf in summer."""
    turf = [course for course in size.courses if course.surface == "turf"]
    synthetic = [course for course in size.courses if course.surface == "synthetic"]
    day = first
    while day < today:
        if day.weekday() in size.weekdays and rng.random() < 0.85:
            on_turf = 4 <= day.month <= 10 and rng.random() < 0.85
            pool = turf if on_turf else synthetic
            yield day, pool[int(rng.integers(len(pool)))]
        day += timedelta(days=1)


def conditions(rng: np.random.Generator, course: Course, day: date) -> Conditions:
    """Draw one race of a day at `course`."""
    kind = str(rng.choice(["maiden", "novice", "handicap", "stakes"], p=[0.2, 0.12, 0.6, 0.08]))
    room = int(rng.integers(8, 17))
    juvenile = kind != "handicap" and day.month >= 5 and rng.random() < 0.4
    trips = [trip for trip in course.trips if not juvenile or trip.distance_m <= 1000 + 100 * (day.month - 4)]
    trip = (trips or list(course.trips))[int(rng.integers(len(trips or course.trips)))]
    if kind == "handicap":
        return _handicap(rng, trip, room)
    ages, youngest, oldest = _ages(rng, day, juvenile=juvenile)
    race_class = {"maiden": "5", "novice": "4", "stakes": "1"}[kind]
    title = f"{race_name(rng)} {kind.title()}" + ("" if kind == "stakes" else " Stakes")
    return Conditions(kind, title, race_class, trip, ages, youngest, oldest, None, _PRIZES[race_class], room)


def _ages(rng: np.random.Generator, day: date, *, juvenile: bool) -> tuple[str, int, int]:
    if juvenile:
        return "2yo", 2, 2
    if day.month <= 8 and rng.random() < 0.4:
        return "3yo", 3, 3
    return "3yo+", 3, 99


def _handicap(rng: np.random.Generator, trip: Trip, room: int) -> Conditions:
    race_class = str(rng.choice(list(_BANDS), p=[0.08, 0.17, 0.25, 0.28, 0.22]))
    ages, youngest, oldest = ("3yo+", 3, 99) if rng.random() < 0.75 else ("4yo+", 4, 99)
    title = f"{race_name(rng)} Handicap"
    band = _BANDS[race_class]
    return Conditions("handicap", title, race_class, trip, ages, youngest, oldest, band, _PRIZES[race_class], room)
