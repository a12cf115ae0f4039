"""The yard's readings of every kind that is watched."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any, Final

import numpy as np

from upsides.books import clock
from upsides.books.models import Box, Horse, Outing, Stand
from upsides.books.queries import moments
from upsides.books.queries.condition_signs import AFTER
from upsides.books.queries.days import entries_of
from upsides.books.queries.exercised import exercise_of, orders_of
from upsides.books.queries.moments import Moment
from upsides.condition.fresh.words import LEFT
from upsides.condition.monitoring.kinds import KINDS
from upsides.condition.monitoring.readings import Readings, readings_of
from upsides.condition.monitoring.same_work import as_after_one

DAYS: Final = 425
"""So many days are watched: a year to learn from, and the first weeks that point at nobody."""
EPOCH: Final = date(1970, 1, 1).toordinal()
PLACE: Final = {kind.name: place for place, kind in enumerate(KINDS)}
READ_OFF: Final = "200"
HEARTS: Final = {"recovery": False, "heart at work": True}
"""Hearts that depend on the exercise, and whether on how fast it was gone within one, too."""
STRIDING: Final = range(28, 32)
"""Steps of speed, 14 to 16 m/s, at which the length of a stride is taken."""


@dataclass(frozen=True, slots=True)
class _Read:
    """One reading: number of the horse, place of its kind, day, value, the device's name, empty for none, its error."""

    horse: int
    kind: int
    day: date
    value: float
    device: str = ""
    sd: float = 0.0


@dataclass(frozen=True, slots=True)
class _Worked:
    """A heart of a piece of work: which exercise it was, and how fast its quickest piece of work was gone, m/s."""

    read: _Read
    exercise: str
    speed: float


@dataclass(frozen=True, slots=True, eq=False)
class YardReadings:
    """Readings with what their codes stand for.

    Attributes:
        readings: as the watch takes them.
        horses, barns, devices: numbers of horses, names of barns and devices, by code.
        here: horses in training by code, with the day each came, as days since 1970-01-01.
    """

    readings: Readings
    horses: tuple[int, ...]
    barns: tuple[str, ...]
    devices: tuple[str, ...]
    here: dict[int, int]


def yard_readings(moment: Moment) -> YardReadings:
    """Return the readings of the year up to a moment's day."""
    first = moment.day - timedelta(days=DAYS)
    found = [*_entered(moment, first), *_tracked(moment, first)]
    horses = tuple(sorted({one.horse for one in found}))
    devices = tuple(sorted({f"{one.kind} {one.device}" for one in found if one.device}))
    barns, barn_of = barns_of(moment)
    code = {number: place for place, number in enumerate(horses)}
    by_device = {name: place for place, name in enumerate(devices)}
    born = {horse.pk: _day(horse.foaled_on or date(horse.foaled, 3, 1)) for horse in moments.rows(Horse, moment)}
    readings = readings_of(
        [code[one.horse] for one in found],
        [one.kind for one in found],
        [_day(one.day) for one in found],
        [one.value for one in found],
        barn=np.array([barn_of(one.horse, one.day) for one in found], dtype=np.int64),
        device=np.array([by_device.get(f"{one.kind} {one.device}", -1) for one in found], dtype=np.int64),
        sd=[one.sd for one in found],
        foaled=[float(born[number]) if number in born else np.nan for number in horses],
    )
    here = {code[horse.pk]: _day(horse.joined) for horse in moments.in_training(moment) if horse.pk in code}
    return YardReadings(readings, horses, barns, tuple(name.partition(" ")[2] for name in devices), here)


def _entered(moment: Moment, first: date) -> Iterator[_Read]:
    """Yield what people read, of a day the last; of what was left the most."""
    zone = clock.place().zone
    kinds = ("mass", "temperature", "pulse", "feed_left")
    rows = entries_of(moment, kinds, first, moment.day).values_list("kind", "horse_id", "happened_at", "values")
    last: dict[tuple[str, int, date], _Read] = {}
    for kind, horse, at, values in rows:
        day = at.astimezone(zone).date()
        one = _as_read(kind, horse, day, values)
        before = last.get((kind, horse, day))
        if before is None or kind != "feed_left" or one.value > before.value:
            last[kind, horse, day] = one
    yield from last.values()


def _as_read(kind: str, horse: int, day: date, values: dict[str, Any]) -> _Read:
    match kind:
        case "mass":
            return _Read(horse, PLACE["mass"], day, values["kg"], values.get("scale") or "")
        case "temperature":
            return _Read(horse, PLACE["temperature"], day, values["celsius"])
        case "pulse":
            return _Read(horse, PLACE["resting pulse"], day, values["beats"])
        case _:
            return _Read(horse, PLACE["feed left"], day, LEFT[values["left"]])


def _tracked(moment: Moment, first: date) -> Iterator[_Read]:
    """Yield what trackers read of heart, speed at 200 beats and strides, of a day by the outing that went farthest.

    How even a trot was has the error of its own recording; the others have none that is known.
    """
    rows = moments.standing(Outing, moment).filter(day__range=(first, moment.day)).order_by("metres", "pk")
    parts = ("measured__heart", "measured__works", "measured__speeds", "measured__even")
    told = list(rows.values_list("horse_id", "day", "recorded__tracker__name", *parts))
    said = orders_of(moment, first, {row[0] for row in told})
    last: dict[tuple[int, int, date], _Read] = {}
    worked: dict[str, dict[tuple[int, date], _Worked]] = {name: {} for name in HEARTS}
    for horse, day, tracker, heart, works, speeds, even in told:
        device, exercise = tracker or "", exercise_of(said.get((horse, day), ("", None))[0], works or [])
        for name, value in _values(heart or {}, speeds or {}):
            last[PLACE[name], horse, day] = _Read(horse, PLACE[name], day, value, device)
        for name, value in _hearts(heart or {}) if works else ():
            one = _Read(horse, PLACE[name], day, value, device)
            worked[name][horse, day] = _Worked(one, exercise, max(piece["speed"] for piece in works))
        if even and even["half"] is not None:
            place = PLACE["evenness of trot"]
            last[place, horse, day] = _Read(horse, place, day, even["half"], device, even["half_sd"])
    yield from last.values()
    for name, paced in HEARTS.items():
        yield from _as_after_one(list(worked[name].values()), paced=paced)


def _hearts(heart: dict[str, Any]) -> Iterator[tuple[str, float]]:
    if after := heart.get("after", {}).get(AFTER):
        yield "recovery", float(after)
    if held := heart.get("held"):
        yield "heart at work", float(held)


def _as_after_one(worked: list[_Worked], *, paced: bool) -> Iterator[_Read]:
    """Yield hearts with what the exercise does to them taken out, and, where paced, how fast it was gone."""
    horse, exercise = (
        np.unique(column, return_inverse=True)[1].astype(np.int64)
        for column in ([one.read.horse for one in worked], [one.exercise for one in worked])
    )
    value, speed = (np.array(column) for column in ([one.read.value for one in worked], [one.speed for one in worked]))
    freed = as_after_one(horse, exercise, value, speed if paced else None)
    yield from (replace(one.read, value=float(bpm)) for one, bpm in zip(worked, freed, strict=True))


def _values(heart: dict[str, Any], speeds: dict[str, Any]) -> Iterator[tuple[str, float]]:
    if at_200 := heart.get("speeds", {}).get(READ_OFF):
        yield "speed", float(at_200[0])
    counted = [speeds[str(step)] for step in STRIDING if str(step) in speeds and speeds[str(step)][2]]
    strides = sum(one[1] or 0.0 for one in counted)
    if strides >= 1:
        yield "stride length", sum(one[0] for one in counted) / strides


def barns_of(moment: Moment) -> tuple[tuple[str, ...], Callable[[int, date], int]]:
    """Return the names of the barns, and what tells in which a horse stood on a day, -1 for none known."""
    boxes = dict(moments.rows(Box, moment).values_list("id", "barn"))
    barns = tuple(sorted(set(boxes.values())))
    code = {name: place for place, name in enumerate(barns)}
    stands: dict[int, list[tuple[date, int]]] = {}
    for stand in moments.rows(Stand, moment).order_by("first_day", "id"):
        barn = code[boxes[stand.box_id]] if stand.box_id in boxes else -1
        stands.setdefault(stand.horse_id, []).append((stand.first_day, barn))

    def barn_of(horse: int, day: date) -> int:
        return next((barn for first, barn in reversed(stands.get(horse, ())) if first <= day), -1)

    return barns, barn_of


def _day(when: date) -> int:
    return when.toordinal() - EPOCH
