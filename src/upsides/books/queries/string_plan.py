"""The string's work as it was last planned: one horse, all that are open to a visitor, a day's orders from it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, Final

from upsides.books.diary.work import Ordered
from upsides.books.models import Gallop, Horse, Inside
from upsides.books.models.answer import PLAN
from upsides.books.queries import moments
from upsides.books.queries.horse import seen
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import Visitor, opened
from upsides.planning.work.said import Said

TONIGHTS: Final = timedelta(days=1)
"""Orders are taken from a plan that was made no longer ago than this: an older one knows too little."""


@dataclass(frozen=True, slots=True)
class PlannedDay:
    """A day of a plan.

    Args:
        day: which.
        title: the order, as the routine calls it.
        exercise: the diary's word for it.
        furlongs: how far at its pace; None for as far as usual.
        routine: what the routine calls the order that it would have; empty where it is the same.
        beside: names of those that it works upsides with.
    """

    day: date
    title: str
    exercise: str
    furlongs: float | None
    routine: str
    beside: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PlannedWeek:
    """A week of a plan: first and last day, furlongs of fast work and at the canter, metres by step of speed."""

    first: date
    last: date
    fast_f: float
    canter_f: float
    metres: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Planned:
    """One horse's plan.

    Args:
        horse: its row.
        kind: of the routine; empty where it has no plan.
        days: those not yet past, one by one.
        weeks: all of them, up to its races.
        later: what comes after the days.
        says: each departure from the routine with its reason, and what to mind.
        stages: of the routine on the way, with who says so.
        races: days and metres.
        cost: steps by which it departs from the routine.
        rules: where it has no plan, rules of which one must be given up.
    """

    horse: Horse
    kind: str = ""
    days: tuple[PlannedDay, ...] = ()
    weeks: tuple[PlannedWeek, ...] = ()
    later: tuple[Said, ...] = ()
    says: tuple[Said, ...] = ()
    stages: tuple[Said, ...] = ()
    races: tuple[tuple[date, float], ...] = ()
    cost: float = 0.0
    rules: tuple[Said, ...] = ()


@dataclass(frozen=True, slots=True)
class HorsePlan:
    """A horse's plan as somebody may see it.

    Args:
        horse: its row.
        open: whether plans of it are open to the visitor.
        made: when the string's plan was worked out; None where it was not, or nothing is open.
        proven: whether no plan of the string departs less from the routine.
        gap: steps by which it may be above the cheapest.
        planned: the plan; None where the horse is in none.
    """

    horse: Horse
    open: bool
    made: datetime | None = None
    proven: bool = True
    gap: float = 0.0
    planned: Planned | None = None


@dataclass(frozen=True, slots=True)
class StringPlan:
    """The plans of a string that are open to a visitor, by name; `made`, `proven`, `gap` as of `HorsePlan`.

    `tight` are the limits of mornings that stand in the routine's way: day, kind (workers, riders, slots), the gallop's
    name (empty for others), the most horses, and of how many the routine asks it. `beyond` are those that orders by
    hand go beyond, with how many horses the morning has.
    """

    made: datetime | None
    proven: bool
    gap: float
    days: tuple[date, ...]
    horses: tuple[Planned, ...]
    tight: tuple[tuple[date, str, str, int, int], ...] = ()
    beyond: tuple[tuple[date, str, str, int, int], ...] = ()


def horse_plan(who: Visitor, moment: Moment, number: int) -> HorsePlan | None:
    """Return a horse's plan, None where the visitor may see no such horse."""
    horse = seen(who, moment, number)
    if horse is None:
        return None
    if number not in opened(who, Inside.PLANS):
        return HorsePlan(horse, open=False)
    row = moments.answer(PLAN, moment)
    if row is None:
        return HorsePlan(horse, open=True)
    names = _names(moment, row.values)
    planned = _planned(row.values, horse, moment.day, names)
    return HorsePlan(horse, True, row.recorded_at, row.values["proven"], row.values["gap"], planned)


def string_plan(who: Visitor, moment: Moment) -> StringPlan | None:
    """Return the string's plans, None where none is open to the visitor."""
    open_to = opened(who, Inside.PLANS)
    if not open_to:
        return None
    row = moments.answer(PLAN, moment)
    if row is None:
        return StringPlan(None, True, 0.0, (), ())
    names = _names(moment, row.values)
    string = [horse for horse in moments.in_training(moment).order_by("name") if horse.pk in open_to]
    planned = [_planned(row.values, horse, moment.day, names) for horse in string]
    days = tuple(day for day in _days(row.values) if day >= moment.day)
    found = tuple(one for one in planned if one is not None)
    tight, over = (
        tuple(one for one in _limits(moment, row.values, name) if one[0] >= moment.day) for name in ("tight", "beyond")
    )
    return StringPlan(row.recorded_at, row.values["proven"], row.values["gap"], days, found, tight, over)


def _limits(moment: Moment, values: Mapping[str, Any], name: str) -> Iterator[tuple[date, str, str, int, int]]:
    """Yield the limits that bind, or that are gone beyond; answers kept before there were any have none."""
    rows, days = values.get(name, []), _days(values)
    gallops = moments.names(Gallop, moment, (gallop for _kind, _day, gallop, *_ in rows))
    for kind, day, gallop, most, many in rows:
        yield days[day], kind, gallops.get(gallop, ""), most, many


def planned_orders(moment: Moment, day: date) -> dict[int, Ordered]:
    """Return what tonight's plan has for a day, by number of the horse; nothing where there is no such plan.

    Races are left out: an entry in the books says whether a horse runs.
    """
    row = moments.answer(PLAN, moment)
    if row is None or row.day < moment.day - TONIGHTS:
        return {}
    place = (day - date.fromisoformat(row.values["first"])).days
    if not 0 <= place < row.values["days"]:
        return {}
    beside = _beside(row.values, place)
    found = {}
    for number, one in row.values["horses"].items():
        _title, exercise, furlongs, _upsides, *gallop = row.values["orders"][one["days"][place][0]]
        if exercise != "race":
            found[int(number)] = Ordered(
                exercise,
                gallop=gallop[0] if gallop else None,
                furlongs=furlongs,
                upsides=beside.get(int(number), []),
            )
    return found


def last_planned(moment: Moment) -> dict[int, dict[date, str]]:
    """Return what the last plan of a day before has for each day, as the routine names its orders, by horse's number.

    A plan of the same day is not looked at, so that the same facts asked twice give the same plan.
    """
    row = moments.answer(PLAN, Moment(moment.day - timedelta(days=1), moment.at))
    if row is None:
        return {}
    days = _days(row.values)
    return {
        int(number): {day: order for day, (order, *_routine) in zip(days, one["days"], strict=False)}
        for number, one in row.values["horses"].items()
    }


def _days(values: Mapping[str, Any]) -> list[date]:
    first = date.fromisoformat(values["first"])
    return [first + timedelta(days=day) for day in range(values["days"])]


def _beside(values: Mapping[str, Any], place: int) -> dict[int, list[int]]:
    """Return with whom each horse works upsides on a day."""
    found: dict[int, list[int]] = {}
    for day, one, other in values["pairs"]:
        if day == place:
            found.setdefault(one, []).append(other)
            found.setdefault(other, []).append(one)
    return found


def _names(moment: Moment, values: Mapping[str, Any]) -> dict[int | None, str]:
    return moments.names(Horse, moment, (number for _day, *pair in values["pairs"] for number in pair))


def _planned(values: Mapping[str, Any], horse: Horse, today: date, names: Mapping[int | None, str]) -> Planned | None:
    """Return a horse's plan; None where it is in none."""
    if rules := values["clashes"].get(str(horse.pk)):
        return Planned(horse, rules=tuple(map(Said.of_json, rules)))
    one = values["horses"].get(str(horse.pk))
    if one is None:
        return None
    days = tuple(
        _planned_day(values, horse.pk, place, day, one["days"][place], names)
        for place, day in enumerate(_days(values))
        if day >= today
    )
    weeks = tuple(
        PlannedWeek(date.fromisoformat(first), date.fromisoformat(last), fast, canter, tuple(metres))
        for first, last, fast, canter, metres in one["weeks"]
    )
    races = tuple((date.fromisoformat(day), metres) for day, metres in one["races"])
    later, says, stages = (tuple(map(Said.of_json, one[name])) for name in ("later", "says", "stages"))
    return Planned(horse, one["kind"], days, weeks, later, says[1:], stages, races, one["cost"])


def _planned_day(
    values: Mapping[str, Any], number: int, place: int, day: date, pair: list[str], names: Mapping[int | None, str]
) -> PlannedDay:
    order, routine = pair
    title, exercise, furlongs, *_more = values["orders"][order]
    beside = tuple(names[other] for other in _beside(values, place).get(number, []) if other in names)
    return PlannedDay(day, title, exercise, furlongs, "" if order == routine else values["orders"][routine][0], beside)
