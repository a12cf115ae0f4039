"""What the routine asks of a horse day by day and week by week: definitions that the model and the verifier share."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import inf

from upsides.planning.work.horse import Horse, Span
from upsides.planning.work.orders import Order
from upsides.planning.work.routine import Routine, Stage


@dataclass(frozen=True, slots=True)
class Week:
    """What the routine asks of the planned days of a week, from Monday to Sunday.

    Attributes:
        first, last: its planned days, both included.
        fast, canter: furlongs, from and to.
        lessons: at the stalls.
    """

    first: int
    last: int
    fast: tuple[float, float]
    canter: tuple[float, float]
    lessons: int


@dataclass(frozen=True, slots=True)
class Asked:
    """What the routine asks.

    Attributes:
        orders: the order of every planned day.
        stages: the stage of every planned day.
        weeks: in their order.
    """

    orders: tuple[Order, ...]
    stages: tuple[Stage, ...]
    weeks: tuple[Week, ...]


def asked(horse: Horse) -> Asked:
    """Return what the routine asks of a horse.

    On a race day it is the race; then come the days just before and after one; else the day of the stage's week. A work
    becomes an easy day where it is nearer to the last one, or to a race, than the routine has it, where the horse has
    not had its days after a race, and where the week has its works. A lesson becomes an easy day for a horse that has
    had them all; where a stage has none, the first easy day of a week becomes one as long as lessons are left.
    """
    orders: list[Order] = []
    stages: list[Stage] = []
    fast = sorted(one.day for one in horse.past if one.fast)
    lessons = horse.lessons
    for day in range(horse.length):
        stages.append(_stage(horse, day))
        order = _wanted(horse, day, stages[-1])
        if order.fast and day not in horse.race_on and not _in_time(horse, day, fast):
            order = horse.routine.order("easy")
        if order.lesson and lessons == 0:
            order = horse.routine.order("easy")
        elif lessons and _takes_lesson(horse, day, order, stages[-1], orders):
            order = horse.routine.order("lesson")
        lessons -= order.lesson
        fast += [day] if order.fast else []
        orders.append(order)
    weeks = tuple(_week(horse, span, orders, stages) for span in weeks_of(horse))
    return Asked(tuple(orders), tuple(stages), weeks)


def other_company(routine: Routine, order: Order, wanted: Order) -> bool:
    """Return whether an order is alone where the routine goes upsides, or upsides where it goes alone.

    What the routine has on the day says which; where it has no work that day, its company does. Of an order that is
    done in one way only nothing is said.
    """
    if order.name == wanted.name or not any(order.twin(one) for one in routine.orders.values()):
        return False
    works = wanted.fast and wanted.exercise != "race"
    beside = wanted.upsides if works or order.twin(wanted) else order.fast and routine.company == "upsides"
    return order.upsides != beside


def weekday(horse: Horse, day: int) -> int:
    """Return the day of the week, 0 for Monday."""
    return (horse.first.weekday() + day) % 7


def weeks_of(horse: Horse) -> list[tuple[int, int]]:
    """Return the first and last planned day of every week from Monday to Sunday."""
    begins = [0, *(day for day in range(1, horse.length) if weekday(horse, day) == 0)]
    return [(begin, end - 1) for begin, end in zip(begins, [*begins[1:], horse.length], strict=True)]


def date_of(horse: Horse, day: int) -> date:
    """Return the date of a day."""
    return horse.first + timedelta(days=day)


def _stage(horse: Horse, day: int) -> Stage:
    to_race = 0 if day in horse.race_on else horse.to_race(day)
    return horse.routine.stage(inf if to_race is None else to_race, inf if horse.back is None else horse.back + day)


def _wanted(horse: Horse, day: int, stage: Stage) -> Order:
    routine, to_race, since = horse.routine, horse.to_race(day), horse.since_race(day)
    if day in horse.race_on:
        return routine.orders["race"]
    if to_race is not None and to_race <= len(routine.before):
        return routine.order(routine.before[to_race - 1])
    if since is not None and since[0] <= len(routine.after):
        return routine.order(routine.after[since[0] - 1])
    return routine.order(stage.week[weekday(horse, day)])


def _takes_lesson(horse: Horse, day: int, order: Order, stage: Stage, orders: Sequence[Order]) -> bool:
    """Return whether an easy day becomes the week's lesson, where the stage itself has none."""
    monday = day - weekday(horse, day)
    had = any(one.lesson for one in horse.past if monday <= one.day)
    if had or "lesson" in stage.week or any(one.lesson for one in orders[max(monday, 0) : day]):
        return False
    return order.name == horse.routine.order("easy").name


def _in_time(horse: Horse, day: int, fast: list[int]) -> bool:
    """Return whether the routine has fast work on a day after fast work on some days before."""
    routine, to_race, since = horse.routine, horse.to_race(day), horse.since_race(day)
    monday = day - weekday(horse, day)
    return (
        (not fast or day - fast[-1] >= routine.spacing)
        and (to_race is None or to_race >= routine.last_fast)
        and (since is None or since[0] > routine.recovers(since[1]))
        and sum(monday <= one < day and one not in horse.race_on for one in fast) < routine.most_works
    )


def _week(horse: Horse, span: tuple[int, int], orders: list[Order], stages: list[Stage]) -> Week:
    """Return a week with furlongs from and to, by each day's stage, and wide enough for the routine's orders."""
    first, last = span
    days = [day for day in range(first, last + 1) if day not in horse.race_on]
    own = [orders[day] for day in range(first, last + 1)]
    spans = []
    for name in ("fast", "canter"):
        done = sum(getattr(order, f"{name}_f") for order in own)
        low, high = (sum(getattr(stages[day], name)[end] for day in days) / 7.0 for end in (0, 1))
        spans.append((min(low, done), max(high, done)))
    return Week(first, last, spans[0], spans[1], sum(order.lesson for order in own))


def open_orders(horse: Horse, day: int) -> frozenset[str]:
    """Return the names of the orders that what holds on a day leaves open, whatever is done on other days."""
    holding = [step for step in horse.steps if step.first <= day <= step.last]
    told = day in horse.pins or any(step.by == "vet" for step in holding)
    beside = horse.routine.company == "upsides" or (horse.routine.company == "either" and horse.partners)
    found = {
        name: one
        for name, one in horse.routine.orders.items()
        if (one.exercise == "race") == (day in horse.race_on)
        and (told or not one.told)
        and (beside or not one.upsides or day in horse.pins)
        and all(one.exercise in step.exercises for step in holding)
    }
    if day in horse.unridden:
        found = {name: one for name, one in found.items() if not one.ridden}
    if day in horse.pins:
        found = {name: one for name, one in found.items() if name == horse.pins[day]}
    return frozenset(name for name, one in found.items() if (one.gallop, day) not in horse.closed)


def spans_of(horse: Horse) -> tuple[Span, ...]:
    """Return the spans of days after those planned one by one, without their counts."""
    open_on: Mapping[int, frozenset[str]] = {day: open_orders(horse, day) for day in range(horse.days, horse.length)}
    begins = [
        day
        for day in open_on
        if day == horse.days or weekday(horse, day) == 0 or open_on[day] != open_on[day - 1] or day in horse.race_on
    ]
    ends = [*(begin - 1 for begin in begins[1:]), *([horse.length - 1] if begins else [])]
    return tuple(Span(begin, end) for begin, end in zip(begins, ends, strict=True))
