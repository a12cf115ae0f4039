"""What trackers read of hearts, speed and strides, freed of what work and circumstances do to it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from upsides.books.models import Outing
from upsides.books.queries import moments
from upsides.books.queries.circumstances import Goings, air_at, airs_of, goings_of
from upsides.books.queries.condition_signs import AFTER
from upsides.books.queries.exercised import exercise_of, orders_of
from upsides.books.queries.moments import Moment
from upsides.condition.monitoring.kinds import KINDS
from upsides.condition.monitoring.same_work import Worked, as_after_one

PLACE: Final = {kind.name: place for place, kind in enumerate(KINDS)}
READ_OFF: Final = "200"
STRIDING: Final = range(28, 32)
"""Steps of speed, 14 to 16 m/s, at which the length of a stride is taken."""


@dataclass(frozen=True, slots=True)
class Freed:
    """What is taken out of one kind of reading besides gallop, rise, going, heat and rider.

    Attributes:
        exercised: what the exercise does to it.
        paced: how fast it was gone within one exercise.
        quickest: whether it is of the quickest piece of work, not of the last.
    """

    exercised: bool = False
    paced: bool = False
    quickest: bool = False


FREED: Final = {
    "recovery": Freed(exercised=True),
    "heart at work": Freed(exercised=True, paced=True, quickest=True),
    "speed": Freed(),
    "stride length": Freed(quickest=True),
}


class Read(NamedTuple):
    """One reading: number of the horse, place of its kind, day, value, the device's name, empty for none, its error."""

    horse: int
    kind: int
    day: date
    value: float
    device: str = ""
    sd: float = 0.0


class _Under(NamedTuple):
    """Under what circumstances: exercise, speed m/s, rise over run, heat, gallop, going there, rider."""

    exercise: str
    speed: float
    rise: float
    heat: float | None
    gallop: int | None
    going: str | None
    rider: int | None


def tracked(moment: Moment, first: date) -> Iterator[Read]:
    """Yield what trackers read, of a day by the outing that went farthest.

    How even a trot was has the error of its own recording; the others have none that is known.

    Args:
        moment: when to look from.
        first: day.
    """
    rows = moments.standing(Outing, moment).filter(day__range=(first, moment.day)).order_by("metres", "pk")
    parts = ("measured__heart", "measured__works", "measured__speeds", "measured__even", "measured__air")
    told = rows.values_list("horse_id", "day", "recorded__tracker__name", *parts).iterator()  # never all at once
    said = orders_of(moment, first, set(rows.order_by().values_list("horse_id", flat=True)))
    goings, airs = goings_of(moment, first), airs_of(moment, first)
    even_at, last = PLACE["evenness of trot"], dict[tuple[int, date], Read]()
    worked: dict[str, dict[tuple[int, date], tuple[Read, _Under]]] = {name: {} for name in FREED}
    for horse, day, tracker, heart, works, speeds, even, air in told:
        device, (exercise, rider) = tracker or "", said.get((horse, day), ("", None))
        values = list(_values(heart or {}, speeds or {})) if works else []
        if values:
            went, warm = exercise_of(exercise, works), air_at(airs, day, works[-1].get("start", 0.0), air)
            quickest = max(works, key=_speed)
            pieces = [_under(one, went, warm, goings, day, rider) for one in (works[-1], quickest)]
        for name, value in values:
            under = pieces[FREED[name].quickest]
            worked[name][horse, day] = (Read(horse, PLACE[name], day, value, device), under)
        if even and even["half"] is not None:
            last[horse, day] = Read(horse, even_at, day, even["half"], device, even["half_sd"])
    yield from last.values()
    for name, how in FREED.items():
        yield from _as_after_one(list(worked[name].values()), how)


def _speed(piece: Mapping[str, Any]) -> float:
    return float(piece["speed"])


def _under(
    piece: Mapping[str, Any], exercise: str, heat: float | None, goings: Goings, day: date, rider: int | None
) -> _Under:
    gallop = piece["gallop"]["number"] if piece.get("gallop") else None
    rise = (piece.get("rise") or 0.0) / (piece.get("metres") or 1.0)
    return _Under(exercise, piece["speed"], rise, heat, gallop, goings.get((gallop, day)), rider)


def _values(heart: Mapping[str, Any], speeds: Mapping[str, Any]) -> Iterator[tuple[str, float]]:
    if after := heart.get("after", {}).get(AFTER):
        yield "recovery", float(after)
    if held := heart.get("held"):
        yield "heart at work", float(held)
    if at_200 := heart.get("speeds", {}).get(READ_OFF):
        yield "speed", float(at_200[0])
    counted = [speeds[str(step)] for step in STRIDING if str(step) in speeds and speeds[str(step)][2]]
    strides = sum(one[1] or 0.0 for one in counted)
    if strides >= 1:
        yield "stride length", sum(one[0] for one in counted) / strides


def _as_after_one(read: Sequence[tuple[Read, _Under]], how: Freed) -> Iterator[Read]:
    """Yield readings with what work and circumstances do to them taken out."""
    if not read:
        return
    exercises, speeds, rises, heats, *places = zip(*(under for _one, under in read), strict=True)
    one_exercise = np.zeros(len(read), dtype=np.int64)
    worked = Worked(
        _codes(exercises) if how.exercised else one_exercise,
        np.array(speeds) if how.paced else None,
        np.array(rises, dtype=np.float64),
        np.array(heats, dtype=np.float64),
        tuple(_codes(column) for column in places),
    )
    value = np.array([one.value for one, _under in read])
    freed = as_after_one(_codes([one.horse for one, _under in read]), value, worked)
    yield from (one._replace(value=float(now)) for (one, _under), now in zip(read, freed, strict=True))


def _codes(column: Sequence[int | str | None]) -> NDArray[np.int64]:
    """Return codes from 0, -1 for None."""
    code: dict[int | str | None, int] = {None: -1}
    return np.array([code.setdefault(one, len(code) - 1) for one in column], dtype=np.int64)
