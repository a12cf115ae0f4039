"""A plan of work held against every rule of its horse and priced anew, without a solver and one day at a time."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from upsides.planning.rule import Rule
from upsides.planning.work.asked import Asked, Week, asked, other_company, spans_of
from upsides.planning.work.horse import Horse, Plan, Span
from upsides.planning.work.orders import Order, above
from upsides.planning.work.routine import Limit, Parts

NEAR: Final = 1e-6
"""Metres by which a sum may be above a limit, for how numbers are kept."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a plan comes to.

    Attributes:
        broken: rules that it breaks, each once; none for a plan that stands.
        amounts: how far it departs from the routine.
        costs: the same in steps.
    """

    broken: tuple[Rule, ...]
    amounts: Parts
    costs: Parts


def verify(horse: Horse, plan: Plan, prices: Parts) -> Verdict:
    """Return which rules a plan breaks, and what it costs by part."""
    if not _is_one(horse, plan):
        return Verdict((Rule("unknown", (horse.number,)),), Parts(), Parts())
    broken = {*_of_days(horse, plan), *_of_gaps(horse, plan), *_of_limits(horse, plan), *_of_rest(horse, plan),
              *_of_lessons(horse, plan)}  # fmt: skip
    counted = amounts(horse, plan)
    return Verdict(tuple(sorted(broken)), counted, counted.times(prices))


def _is_one(horse: Horse, plan: Plan) -> bool:
    """Return whether a plan has an order for each day, and days of known orders for each later span."""
    known = horse.routine.orders
    spans = [(one.first, one.last) for one in spans_of(horse)]
    return (
        len(plan.days) == horse.days
        and all(name in known for name in plan.days)
        and [(one.first, one.last) for one in plan.later] == spans
        and all(name in known and n > 0 for one in plan.later for name, n in one.counts)
        and all(sum(n for _, n in one.counts) == one.last - one.first + 1 for one in plan.later)
    )


def _named(plan: Plan) -> Iterator[tuple[int, str]]:
    """Yield every day, or every day of a later span, with the name of each order on it."""
    yield from enumerate(plan.days)
    for span in plan.later:
        yield from ((day, name) for day in range(span.first, span.last + 1) for name, _ in span.counts)


def _of_days(horse: Horse, plan: Plan) -> Iterator[Rule]:
    """Yield what is wrong with an order on its day; every day of a later span leaves the same open."""
    number = horse.number
    for day, name in _named(plan):
        order = horse.routine.orders[name]
        if day in horse.race_on and order.exercise != "race":
            yield Rule("race", (number, day))
        if (day not in horse.race_on and order.exercise == "race") or not _offered(horse, order, day):
            yield Rule("unknown", (number,))
        if day in horse.pins and horse.pins[day] != name:
            yield Rule("pin", (number, day))
        if order.ridden and day in horse.unridden:
            yield Rule("rider", (number, day))
        if order.gallop is not None and (order.gallop, day) in horse.closed:
            yield Rule("closed", (number, order.gallop, day))
        for place, step in enumerate(horse.steps):
            if step.first <= day <= step.last and order.exercise not in step.exercises:
                yield Rule(step.by, (number, place))


def _offered(horse: Horse, order: Order, day: int) -> bool:
    """Return whether an order is offered: some only where a vet or a hand says so, upsides only to those in company."""
    if day in horse.pins:
        return True
    if order.upsides and (
        horse.routine.company == "alone" or not (horse.routine.company == "upsides" or horse.partners)
    ):
        return False
    return not order.told or any(step.by == "vet" and step.first <= day <= step.last for step in horse.steps)


def _of_gaps(horse: Horse, plan: Plan) -> Iterator[Rule]:
    """Yield whether fast works are too near; later ones are placed as early as they can be, which leaves most room."""
    orders, gap = horse.routine.orders, horse.gap
    before = [one.day for one in horse.past if one.fast]
    days = [day for day, name in enumerate(plan.days) if orders[name].fast]
    races = sorted(race.day for race in horse.races if race.day >= horse.days)
    fixed = sorted([*before, *days, *races])
    near = any(b >= 0 and b - a < gap for i, b in enumerate(fixed) for a in fixed[:i])
    last = max([*before, *days], default=-gap)
    for span in plan.later:
        for _ in range(sum(n for name, n in span.counts if orders[name].fast)):
            open_days = range(max(span.first, last + gap), span.last + 1)
            found = next((day for day in open_days if day in races or all(abs(day - r) >= gap for r in races)), None)
            near = near or found is None
            last = last if found is None else found
    if near:
        yield Rule("gap", (horse.number,))


def _of_limits(horse: Horse, plan: Plan) -> Iterator[Rule]:
    for place, limit in enumerate(horse.limits):
        ends = [*range(horse.days), *(span.last for span in plan.later)]
        if any(_metres(horse, plan, limit, until) > _left(horse, limit, until) + NEAR for until in ends):
            yield Rule("limit", (horse.number, place))


def _left(horse: Horse, limit: Limit, until: int) -> float:
    done = sum(
        above(np.array(one.metres), limit.from_ms) for one in horse.past if until - limit.days < one.day <= until
    )
    return max(limit.metres - done, _raced(horse, limit, until))


def _raced(horse: Horse, limit: Limit, until: int) -> float:
    """Return the metres of the races of a window, day by day; they are fixed, and the limit gives way to them."""
    days = range(max(until - limit.days + 1, 0), until + 1)
    return sum(_metres_of(horse, "race", day, limit) for day in days if day in horse.race_on)


def over_limit(horse: Horse) -> tuple[tuple[int, int], ...]:
    """Return the races to which a limit gives way: day of the race, which of the limits."""
    found = []
    for race in horse.races:
        for place, limit in enumerate(horse.limits):
            done = [one for one in horse.past if race.day - limit.days < one.day]
            had = sum(above(np.array(one.metres), limit.from_ms) for one in done)
            if had + _raced(horse, limit, race.day) > limit.metres + NEAR:
                found.append((race.day, place))
    return tuple(found)


def _metres(horse: Horse, plan: Plan, limit: Limit, until: int) -> float:
    """Return the planned metres of a window, those of spans that it cuts in equal parts."""
    first = until - limit.days + 1
    total = 0.0
    for day, name in enumerate(plan.days):
        if first <= day <= until:
            total += _metres_of(horse, name, day, limit)
    for span in plan.later:
        inside = len([day for day in range(span.first, span.last + 1) if first <= day <= until])
        share = inside / (span.last - span.first + 1)
        total += share * sum(n * _metres_of(horse, name, span.first, limit) for name, n in span.counts)
    return total


def _metres_of(horse: Horse, name: str, day: int, limit: Limit) -> float:
    order, race = horse.routine.orders[name], horse.race_on.get(day)
    profile = order.over(race.metres) if race is not None and order.exercise == "race" else order.profile
    return above(profile, limit.from_ms)


def _of_rest(horse: Horse, plan: Plan) -> Iterator[Rule]:
    """Yield whether any seven known days, or the planned days of a later week, have too little rest."""
    orders = horse.routine.orders
    rests = {one.day: one.rest for one in horse.past}
    rests |= {day: orders[name].rest for day, name in enumerate(plan.days)}
    for end in range(horse.days):
        days = range(end - 6, end + 1)
        if all(day in rests for day in days):
            could = sum(rests[day] for day in days if day < 0)
            could += sum(day >= 0 and day not in horse.race_on for day in days)
            if sum(rests[day] for day in days) < min(horse.rest, could):
                yield Rule("rest", (horse.number,))
    for week in asked(horse).weeks:
        had = sum(orders[name].rest for name in plan.days[week.first : week.last + 1])
        had += sum(n for span in _in(plan, week) for name, n in span.counts if orders[name].rest)
        free = sum(day not in horse.race_on for day in range(week.first, week.last + 1))
        if week.last >= horse.days and had < min(horse.rest * (week.last - week.first + 1) // 7, free):
            yield Rule("rest", (horse.number,))


def without_rest(horse: Horse, plan: Plan) -> tuple[tuple[int, int], ...]:
    """Return the races to which the rule on rest gives way: day of the race, days of rest in the seven up to it."""
    rests = {one.day: one.rest for one in horse.past}
    rests |= {day: horse.routine.orders[name].rest for day, name in enumerate(plan.days)}
    spans = [(race.day, range(race.day - 6, race.day + 1)) for race in horse.races if race.day < horse.days]
    had = ((end, sum(rests[day] for day in days)) for end, days in spans if all(day in rests for day in days))
    return tuple((end, n) for end, n in had if n < horse.rest)


def _in(plan: Plan, week: Week) -> list[Span]:
    """Return the later spans of a week."""
    return [span for span in plan.later if week.first <= span.first <= week.last]


def _of_lessons(horse: Horse, plan: Plan) -> Iterator[Rule]:
    if not (horse.certificate and horse.lessons and horse.races):
        return
    first, orders = min(horse.race_on), horse.routine.orders
    had = sum(orders[name].lesson for name in plan.days[:first])
    had += sum(n for span in plan.later if span.last < first for name, n in span.counts if orders[name].lesson)
    if had < horse.lessons:
        yield Rule("lessons", (horse.number,))


def amounts(horse: Horse, plan: Plan) -> Parts:
    """Return how far a plan departs from the routine, by part."""
    orders, wanted = horse.routine.orders, asked(horse)
    did = [orders[name] for name in plan.days]
    both = list(zip(did, wanted.orders, strict=False))
    even = [(order, asks) for order, asks in both if order.effort == asks.effort]
    weeks = [_of_week(horse, plan, week, wanted) for week in wanted.weeks]
    return Parts(
        easier=sum(max(asks.effort - order.effort, 0) for order, asks in both),
        harder=sum(max(order.effort - asks.effort, 0) for order, asks in both),
        swapped=sum(order.name != asks.name and not order.twin(asks) for order, asks in even),
        alone=sum(other_company(horse.routine, order, asks) for order, asks in both),
        rested=sum(order.rest and not asks.rest for order, asks in both),
        late=sum(late(horse, day) for day, order in enumerate(did) if order.fast),
        stale=sum(stale(horse, plan, race.day) for race in horse.races),
        change=sum(horse.stands.get(day, name) != name for day, name in enumerate(plan.days)),
        **{part: sum(own[part] for own in weeks) for part in weeks[0]},
    )


def _of_week(horse: Horse, plan: Plan, week: Week, wanted: Asked) -> dict[str, float]:
    """Return how far a week departs from what the routine asks of it, by part."""
    orders, spans = horse.routine.orders, _in(plan, week)
    own = [(orders[name], 1) for name in plan.days[week.first : week.last + 1]]
    own += [(orders[name], n) for span in spans for name, n in span.counts]
    fast, canter = (sum(n * getattr(order, field) for order, n in own) for field in ("fast_f", "canter_f"))
    lessons = sum(n * order.lesson for order, n in own)
    asks = Counter(one.name for one in wanted.orders[spans[0].first : week.last + 1]) if spans else Counter[str]()
    has: Counter[str] = Counter()
    for span in spans:
        has.update(dict(span.counts))
    return {
        "fast_short": max(week.fast[0] - fast, 0.0), "fast_over": max(fast - week.fast[1], 0.0),
        "canter_short": max(week.canter[0] - canter, 0.0), "canter_over": max(canter - week.canter[1], 0.0),
        "lessons_short": max(week.lessons - lessons, 0), "lessons_over": max(lessons - week.lessons, 0),
        "weeks": (has - asks).total(),
    }  # fmt: skip


def late(horse: Horse, day: int) -> int:
    """Return by how many days fast work on a day is nearer to a race than the routine's last."""
    to_race = horse.to_race(day)
    if to_race is None or day in horse.race_on:
        return 0
    return max(horse.routine.last_fast - to_race, 0)


def stale(horse: Horse, plan: Plan, race: int) -> bool:
    """Return whether a race has no fast work in the days before; of a span that they touch any counts."""
    begin, orders = race - horse.routine.sharp, horse.routine.orders
    before = any(one.fast and one.day >= begin for one in horse.past)
    days = any(orders[name].fast for day, name in enumerate(plan.days) if begin <= day < race)
    later = any(
        orders[name].fast for span in plan.later if span.last >= begin and span.first < race for name, _ in span.counts
    )
    return not (before or days or later)
