"""The string's work as it was last planned: one horse, all that are open to a visitor, a day's orders from it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any, Final

from upsides.books import clock
from upsides.books.diary.work import Ordered
from upsides.books.models import Gallop, Horse, Inside
from upsides.books.models.answer import PLAN
from upsides.books.queries import moments
from upsides.books.queries.days import entries_of
from upsides.books.queries.horse import seen
from upsides.books.queries.moments import Moment
from upsides.books.queries.plan_laid import GONE, moved_away, moves_laid
from upsides.books.queries.plan_values import (
    HorsePlan,
    OrderShown,
    OtherPlan,
    Planned,
    PlannedDay,
    PlannedWeek,
    Proof,
    StringPlan,
)
from upsides.books.queries.visitors import Visitor, opened
from upsides.planning.rule import Clash
from upsides.planning.work.said import Said

TONIGHTS: Final = timedelta(days=1)
"""Orders are taken from a plan that was made no longer ago than this: an older one knows too little."""


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
    values = moves_laid(moment, row)
    names = _names(moment, values)
    planned = _planned(values, horse, moment.day, names)
    if planned is not None and not planned.rules:
        planned = replace(planned, others=tuple(_others(values, number, moment.day, names)))
    otherwise = _otherwise(moment, number, planned.days if planned is not None else ())
    moved, gone = _moved(moment, number, _days(values)), moved_away(values, number)
    return HorsePlan(horse, True, row.recorded_at, _proof(values), planned, row.pk, otherwise, moved, gone)


def _proof(values: Mapping[str, Any]) -> Proof:
    """Return how good the plan of a string is; an earlier version did not keep what changes came to."""
    each = [one.get("change") for one in values["horses"].values()]
    kept = [one for one in each if one is not None]
    changed, whole = sum(kept), len(kept) == len(each)
    departs = values["cost"] - changed if whole else None
    held = bool(values.get("held"))
    return Proof(values["proven"], values["gap"], held, departs, changed if whole else 0.0, values["bound"])


def _moved(moment: Moment, number: int, days: Sequence[date]) -> dict[date, Ordered]:
    """Return the orders of a horse that were moved by hand to days still to come."""
    ahead = [day for day in days if day > moment.day]
    entries = entries_of(moment, ["ordered"], ahead[0], ahead[-1], [number]) if ahead else ()
    zone = clock.place().zone
    found = {entry.happened_at.astimezone(zone).date(): Ordered.kept_as(entry.values) for entry in entries}
    return {day: one for day, one in found.items() if one.moved_from}


def _otherwise(moment: Moment, number: int, days: Sequence[PlannedDay]) -> dict[date, Ordered]:
    """Return the orders of a horse that are not what its plan has, by day; a plan made after them has them."""
    if not days:
        return {}
    found = {}
    planned = {one.day: (one.exercise, one.furlongs) for one in days}
    for entry in entries_of(moment, ["ordered"], days[0].day, days[-1].day, [number]):
        day, order = entry.happened_at.astimezone(clock.place().zone).date(), Ordered.kept_as(entry.values)
        exercise, furlongs = planned.get(day, ("", None))
        if order.exercise != exercise or (order.furlongs and furlongs and order.furlongs != furlongs):
            found[day] = order
        else:
            found.pop(day, None)
    return found


def string_plan(who: Visitor, moment: Moment) -> StringPlan | None:
    """Return the string's plans, None where none is open to the visitor."""
    open_to = opened(who, Inside.PLANS)
    if not open_to:
        return None
    row = moments.answer(PLAN, moment)
    if row is None:
        return StringPlan(None, Proof(), (), ())
    values = moves_laid(moment, row)
    names = _names(moment, values)
    string = [horse for horse in moments.in_training(moment).order_by("name") if horse.pk in open_to]
    planned = [_planned(values, horse, moment.day, names) for horse in string]
    days = tuple(day for day in _days(values) if day >= moment.day)
    found = tuple(one for one in planned if one is not None)
    tight, over = (
        tuple(one for one in _limits(moment, values, name) if one[0] >= moment.day) for name in ("tight", "beyond")
    )
    return StringPlan(row.recorded_at, _proof(values), days, found, tight, over)


def _limits(moment: Moment, values: Mapping[str, Any], name: str) -> Iterator[tuple[date, str, str, int, int]]:
    """Yield the limits that bind, or that are gone beyond; answers kept before there were any have none."""
    rows, days = values.get(name, []), _days(values)
    gallops = moments.names(Gallop, moment, (gallop for _kind, _day, gallop, *_ in rows))
    for kind, day, gallop, most, many in rows:
        yield days[day], kind, gallops.get(gallop, ""), most, many


def planned_orders(moment: Moment, day: date) -> dict[int, Ordered]:
    """Return what tonight's plan has for a day, by number of the horse; nothing where there is no such plan.

    Days that were moved by hand since are exchanged. Races are left out: an entry in the books says whether a horse
    runs.
    """
    row = moments.answer(PLAN, moment)
    if row is None or row.day < moment.day - TONIGHTS:
        return {}
    place = (day - date.fromisoformat(row.values["first"])).days
    if not 0 <= place < row.values["days"]:
        return {}
    values = moves_laid(moment, row)
    orders = {
        int(number): _order(values, int(number), place, one["days"][place][0])
        for number, one in values["horses"].items()
    }
    return {number: one for number, one in orders.items() if one.exercise != "race"}


def chosen_orders(values: Mapping[str, Any], number: int, place: int) -> dict[date, tuple[Ordered, Ordered]]:
    """Return what must be ordered for one of the other plans of a horse to be the next one: days, new and old orders.

    These are the days on which it, or another of the plans, differs from the best: with all of them fixed no better
    plan than the one chosen is left. Nothing where there is no such plan.
    """
    one = values["horses"].get(str(number), {})
    others = one.get("others", ())
    if not 0 <= place < len(others):
        return {}
    return {
        day: (_order(values, number, at, others[place]["days"][at][0]), _order(values, number, at, old[0]))
        for at, (day, old) in enumerate(zip(_days(values), one["days"], strict=True))
        if any(other["days"][at] != old for other in others)
    }


def day_orders(values: Mapping[str, Any], number: int) -> dict[date, Ordered]:
    """Return what an answer, with moves laid over it, has for each day of a horse; nothing where it has none."""
    own = values["horses"].get(str(number), {"days": ()})["days"]
    return {
        day: _order(values, number, at, name)
        for at, (day, (name, *_)) in enumerate(zip(_days(values), own, strict=False))
    }


def _order(values: Mapping[str, Any], number: int, place: int, name: str) -> Ordered:
    """Return an order of a plan as the diary has it."""
    _title, exercise, furlongs, upsides, *gallop = values["orders"][name]
    beside = _beside(values, place).get(number, []) if upsides else []
    return Ordered(exercise, gallop=gallop[0] if gallop else None, furlongs=furlongs, upsides=beside)


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
        return Planned(horse, rules=Clash.of_kept(rules, Said.of_json))
    one = values["horses"].get(str(horse.pk))
    if one is None:
        return None
    days = _planned_days(values, horse.pk, one["days"], today, names)
    weeks = tuple(
        PlannedWeek(
            date.fromisoformat(first), date.fromisoformat(last), fast, canter, tuple(metres), *map(tuple, spans)
        )
        for first, last, fast, canter, metres, *spans in one["weeks"]
    )
    races = tuple((date.fromisoformat(day), metres) for day, metres in one["races"])
    later, says, stages = (tuple(map(Said.of_json, one[name])) for name in ("later", "says", "stages"))
    pairs = zip(one.get("changed", ()), one.get("changes", ()), strict=True)
    changes = tuple(Said.of_json(said) for (day, _before), said in pairs if _days(values)[day] >= today)
    change = one.get("change")
    departs = None if change is None else one["cost"] - change
    return Planned(
        horse, one["kind"], days, weeks, later, says[1:], stages, races, departs, change or 0.0, changes=changes,
        before_moves=GONE in one, orders=tuple(_orders_shown(values, one)),
    )  # fmt: skip


def _orders_shown(values: Mapping[str, Any], one: Mapping[str, Any]) -> Iterator[OrderShown]:
    """Yield the orders that stand in a horse's plans, in the order in which they come, but for races."""
    plans = [one["days"], *(other["days"] for other in one.get("others", ()))]
    for name in dict.fromkeys(name for days in plans for pair in days for name in pair):
        title, exercise, _furlongs, _upsides, *more = values["orders"][name]
        if len(more) > 1 and exercise != "race":
            yield OrderShown(title, tuple((metres, ms, rise, on) for metres, ms, rise, on in more[1]))


def _others(
    values: Mapping[str, Any], number: int, today: date, names: Mapping[int | None, str]
) -> Iterator[OtherPlan]:
    """Yield the other plans of a horse that can still be chosen."""
    all_days, one = _days(values), values["horses"][str(number)]
    if any(day < today for day in chosen_orders(values, number, 0)):
        return
    for place, other in enumerate(one.get("others", ())):
        off = [day for day, (old, new) in enumerate(zip(one["days"], other["days"], strict=True)) if old != new]
        days = _planned_days(values, number, other["days"], today, names)
        differs = {all_days[day]: values["orders"][one["days"][day][0]][0] for day in off}
        yield OtherPlan(
            place,
            days,
            tuple((day, differs[day.day]) for day in days if day.day in differs),
            tuple(map(Said.of_json, other["says"])),
            tuple(map(Said.of_json, other["later"] if other["later"] != one["later"] else ())),
            other["more"],
            tuple((all_days[day], names[partner]) for day, partner in other["leaves"] if partner in names),
            other["proven"],
            other.get("changes", 0),
        )


def _planned_days(
    values: Mapping[str, Any], number: int, pairs: list[list[str]], today: date, names: Mapping[int | None, str]
) -> tuple[PlannedDay, ...]:
    """Return the days of a plan that are not yet past."""
    return tuple(
        _planned_day(values, number, place, day, pairs[place], names)
        for place, day in enumerate(_days(values))
        if day >= today
    )


def _planned_day(
    values: Mapping[str, Any], number: int, place: int, day: date, pair: list[str], names: Mapping[int | None, str]
) -> PlannedDay:
    order, routine = pair
    title, exercise, furlongs, upsides, *_gallop = values["orders"][order]
    together = _beside(values, place).get(number, []) if upsides else []
    beside = tuple(names[other] for other in together if other in names)
    return PlannedDay(day, title, exercise, furlongs, "" if order == routine else values["orders"][routine][0], beside)
