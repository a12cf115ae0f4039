"""A plan of work as it is said: the answer first, then each departure with its reason; in words by `said`."""

from collections.abc import Iterator, Sequence
from typing import Final

from upsides.planning.work.asked import asked, date_of
from upsides.planning.work.horse import Horse, Plan
from upsides.planning.work.naming import said_reasons
from upsides.planning.work.outside import Outside, WeekOutside, weeks_outside
from upsides.planning.work.routine import Parts
from upsides.planning.work.said import Said, Value
from upsides.planning.work.shared import Shared
from upsides.planning.work.shown import Difference, differences
from upsides.planning.work.verifying import late, over_limit, stale, without_rest

NOTHING_SHARED: Final = Shared()
DAYS_OF_WEEK: Final = 7


def told(
    horse: Horse,
    plan: Plan,
    prices: Parts,
    found: Sequence[Difference] | None = None,
    shared: Shared = NOTHING_SHARED,
    outside: Sequence[WeekOutside] | None = None,
    *,
    forced: bool = False,
) -> tuple[Said, ...]:
    """Return a plan in sentences.

    First when there is fast work and how much departs from the routine; then each departure, weeks outside the routine,
    fast work nearer to a race than the routine's last, races that have no fast work before them, orders upsides without
    a partner, and where what the vet said ends.

    Args:
        horse: whose.
        plan: what.
        prices: of departures, in steps.
        found: its departures, where they are known already, as those of a string are.
        shared: what the string shares.
        outside: its weeks outside the routine, likewise.
        forced: whether it is one of the next best plans, that had to be another than those before it.
    """
    found = differences(horse, plan, prices) if found is None else found
    outside = weeks_outside(horse, plan, prices, found) if outside is None else outside
    departs = (difference_told(horse, one, shared, forced=forced) for one in found)
    weeks = (outside_told(horse, one, shared) for one in outside)
    of_races = (*_late(horse, plan), *_unsharp(horse, plan), *_unrested(horse, plan), *_over_limit(horse))
    alone = (Said("upsides_alone", {"day": date_of(horse, d)}) for n, d in sorted(shared.alone) if n == horse.number)
    return (summary(horse, plan, found), *departs, *weeks, *of_races, *alone, *_after_the_vet(horse))


def later_told(horse: Horse, plan: Plan) -> tuple[Said, ...]:
    """Return the spans after the days one by one: Mon 9 to Fri 13 Mar, 3 hack canter, 1 half-speed."""
    orders, found = horse.routine.orders, []
    for span in plan.later:
        counts = tuple(Said("of_order", {"count": n, "order": orders[name].title}) for name, n in span.counts)
        values: dict[str, Value] = {"day": date_of(horse, span.first), "orders": counts}
        if span.last > span.first:
            found.append(Said("span", values | {"last": date_of(horse, span.last)}))
        else:
            found.append(Said("span_day", values))
    return tuple(found)


def _late(horse: Horse, plan: Plan) -> Iterator[Said]:
    """Yield the days of fast work that are nearer to a race than the routine's last."""
    for day, name in enumerate(plan.days):
        if horse.routine.orders[name].fast and late(horse, day):
            values: dict[str, Value] = {"day": date_of(horse, day), "count": horse.to_race(day) or 0}
            yield Said("late", values | {"least": horse.routine.last_fast})


def _unsharp(horse: Horse, plan: Plan) -> Iterator[Said]:
    """Yield the races that have no fast work in the days before them."""
    for race in horse.races:
        if stale(horse, plan, race.day):
            yield Said("unsharp", {"day": date_of(horse, race.day), "count": horse.routine.sharp})


def _unrested(horse: Horse, plan: Plan) -> Iterator[Said]:
    """Yield the races to which the rule on rest gives way."""
    for race, had in without_rest(horse, plan):
        yield Said("unrested", {"day": date_of(horse, race), "count": had, "rest": horse.rest})


def _over_limit(horse: Horse) -> Iterator[Said]:
    """Yield the races to which the trainer's exposure gives way."""
    for race, place in over_limit(horse):
        limit = horse.limits[place]
        values = {"metres": limit.metres, "speed": limit.from_ms, "count": limit.days}
        yield Said("over_limit", {"day": date_of(horse, race), **values})


def _after_the_vet(horse: Horse) -> Iterator[Said]:
    """Yield that what follows the vet's last step is the routine's, and not the vet's."""
    last = max((step.last for step in horse.steps if step.by == "vet"), default=-1)
    if 0 <= last < horse.length - 1:
        yield Said("after_vet", {"day": date_of(horse, last)})


def summary(horse: Horse, plan: Plan, found: Sequence[Difference]) -> Said:
    """Return the one sentence that answers what the horse does."""
    days = sum(one.first < horse.days and one.last < horse.days for one in found)
    off = Said("not_routine", {"off": days, "count": horse.days}) if days else Said("as_routine", {"count": horse.days})
    return Said("summary", {"fast": _fast(horse, plan), "off": off})


def _fast(horse: Horse, plan: Plan) -> Said:
    """Return the days of fast work, and how near the last of them is to a race in these days."""
    orders = horse.routine.orders
    fast = [day for day, name in enumerate(plan.days) if orders[name].fast and name != "race"]
    if not fast:
        return Said("no_fast")
    values: dict[str, Value] = {"on": tuple(date_of(horse, day) for day in fast)}
    race = min((race.day for race in horse.races), default=horse.days)
    before = [day for day in fast if day < race]
    if before and race < horse.days:
        return Said("fast_before", values | {"count": race - before[-1]})
    return Said("fast", values)


def difference_told(horse: Horse, one: Difference, shared: Shared = NOTHING_SHARED, *, forced: bool = False) -> Said:
    """Return a departure and its reasons in a sentence; without any a plan that had to be another says so."""
    orders = horse.routine.orders
    values: dict[str, Value] = {
        "day": date_of(horse, one.first), "order": orders[one.order].title, "routine": orders[one.routine].title,
    }  # fmt: skip
    code = "departs"
    if one.last >= horse.days:
        code, values = "week_departs", values | {"last": date_of(horse, one.last), "count": one.days}
    if not one.reasons:
        return Said("departs_apart", values) if forced and code == "departs" else Said(code, values)
    return Said(f"{code}_because", values | {"reasons": said_reasons(horse, shared, one.reasons)})


def outside_told(horse: Horse, one: WeekOutside, shared: Shared = NOTHING_SHARED) -> Said:
    """Return what a week has less or more of than its routine, and why, in a sentence."""
    first, last = date_of(horse, one.first), date_of(horse, one.last)
    if one.last - one.first == DAYS_OF_WEEK - 1:
        week = Said("of_week", {"day": first})
    else:
        week = Said("of_days", {"day": first, "last": last}) if first < last else Said("of_day", {"day": first})
    values: dict[str, Value] = {"week": week, "has": tuple(_part_told(part) for part in one.parts)}
    if not one.reasons:
        return Said("outside", values)
    return Said("outside_because", values | {"reasons": said_reasons(horse, shared, one.reasons)})


def _part_told(part: Outside) -> Said:
    """Return how much a week has of something, and from what to what the routine has."""
    if part.kind == "lessons":
        values: dict[str, Value] = {"lessons": round(part.has), "count": round(part.low)}
        return Said("week_lessons", values) if part.low else Said("week_lessons_over", values)
    has, low, high = (round(one, 1) for one in (part.has, part.low, part.high))
    if not high:
        span = Said("span_none")
    else:
        span = Said("span_one", {"high": high}) if low == high else Said("span_two", {"low": low, "high": high})
    if part.kind == "fast":
        return Said("week_fast", {"furlongs": has, "span": span}) if has else Said("week_no_fast", {"span": span})
    return Said("week_canter", {"furlongs": has, "span": span}) if has else Said("week_no_canter", {"span": span})


def company_told(horse: Horse, plan: Plan) -> tuple[Said, ...]:
    """Return of a plan of one horse on which days it goes upsides without a name of who goes with it."""
    upsides = [day for day, name in enumerate(plan.days) if horse.routine.orders[name].upsides]
    on = tuple(date_of(horse, day) for day in upsides if not horse.beside.get(day))
    return (Said("upsides_unnamed", {"on": on}),) if on else ()


def stages_told(horse: Horse) -> tuple[Said, ...]:
    """Return the stages of the routine on the way, with who says so."""
    stages = asked(horse).stages
    return tuple(
        Said("stage", {"day": date_of(horse, day), "stage": stage.name, "source": stage.source})
        for day, stage in enumerate(stages)
        if day == 0 or stage is not stages[day - 1]
    )
