"""Horses that came to the yard lately, or came back, and whether they stand apart and are measured."""

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Final

from upsides.books import clock
from upsides.books.models import Move
from upsides.books.queries import moments
from upsides.books.queries.boxes import Stood, boxes
from upsides.books.queries.days import entries_of
from upsides.books.queries.moments import Moment

DAYS: Final = 14
"""Days for which a horse that came is kept apart; British contact yards of 2017 were shut at least that long."""
NOON: Final = 12
"""Hour of the yard that parts a day's two temperatures."""


@dataclass(frozen=True, slots=True)
class Measured:
    """The temperatures of one day, °C: the last until noon and the last after it, None where none was taken."""

    on: date
    morning: float | None
    evening: float | None

    @property
    def missing(self) -> int:
        """Return how many of the two were not taken."""
        return (self.morning is None) + (self.evening is None)


@dataclass(frozen=True, slots=True)
class Arrival:
    """A horse that came lately.

    Args:
        horse: number of the horse.
        name: its name.
        came: the day on which it came, or came back.
        back: from where it came back, None where it joined the yard.
        stood: its box, None where it has none.
        until: last of the days for which it is kept apart.
        days: the temperatures of each day since it came, the latest first.
    """

    horse: int
    name: str
    came: date
    back: Move.To | None
    stood: Stood | None
    until: date
    days: tuple[Measured, ...]

    @property
    def apart(self) -> bool:
        """Return whether it stands in a box for horses that are kept apart."""
        return self.stood is not None and self.stood.isolation


def arrivals(moment: Moment, days: int = DAYS) -> list[Arrival]:
    """Return the horses that came in the days up to the moment's, the latest first."""
    first = moment.day - timedelta(days=days - 1)
    horses = {horse.pk: horse for horse in moments.in_the_yard(moment)}
    came: dict[int, tuple[date, Move.To | None]] = {
        number: (horse.joined, None) for number, horse in horses.items() if horse.joined >= first
    }
    came |= {number: back for number, back in _back(moment, first).items() if number in horses}
    away = moments.whereabouts(moment)
    here = [number for number in came if number not in away or away[number].to == Move.To.TRAINING]
    stands, taken = boxes(moment), _temperatures(moment, first, here)
    found = [
        Arrival(
            number,
            horses[number].name,
            came[number][0],
            came[number][1],
            stands.get(number),
            came[number][0] + timedelta(days=days - 1),
            _days(number, came[number][0], moment.day, taken),
        )
        for number in here
    ]
    return sorted(found, key=lambda one: (-one.came.toordinal(), one.name.casefold()))


def _back(moment: Moment, first: date) -> dict[int, tuple[date, Move.To | None]]:
    """Return the horses whose last move brought them back into training since a day: when, and from where."""
    moves: dict[int, list[Move]] = defaultdict(list)
    for move in moments.rows(Move, moment).filter(first_day__lte=moment.day).order_by("first_day", "id"):
        moves[move.horse_id].append(move)
    found: dict[int, tuple[date, Move.To | None]] = {}
    for horse, rows in moves.items():
        last, before = rows[-1], rows[-2] if len(rows) > 1 else None
        away = before is not None and before.to != Move.To.TRAINING
        if before is not None and away and last.to == Move.To.TRAINING and last.first_day >= first:
            found[horse] = (last.first_day, Move.To(before.to))
    return found


def _temperatures(moment: Moment, first: date, horses: Collection[int]) -> dict[tuple[int, date, bool], float]:
    """Return the last temperature of each half day, by horse, day and whether it was after noon."""
    zone, found = clock.place().zone, {}
    rows: Iterable[tuple[int | None, datetime, dict[str, float]]] = entries_of(
        moment, ["temperature"], first, moment.day, horses
    ).values_list("horse_id", "happened_at", "values")
    for horse, at, values in rows:
        local = at.astimezone(zone)
        found[horse or 0, local.date(), local.hour >= NOON] = float(values["celsius"])
    return found


def _days(horse: int, came: date, day: date, taken: dict[tuple[int, date, bool], float]) -> tuple[Measured, ...]:
    days = [day - timedelta(days=n) for n in range((day - came).days + 1)]
    return tuple(Measured(on, taken.get((horse, on, False)), taken.get((horse, on, True))) for on in days)
