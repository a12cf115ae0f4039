"""What a plan changes of the one that was told before it, day by day, each with its reason."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from upsides.planning.work.asked import date_of
from upsides.planning.work.horse import Horse, Plan
from upsides.planning.work.naming import said_reasons
from upsides.planning.work.routine import Parts
from upsides.planning.work.said import Said, Value
from upsides.planning.work.shared import Pair, Shared
from upsides.planning.work.shown import Difference, Reason, shared_why, why
from upsides.planning.work.verifying import verify


@dataclass(frozen=True, slots=True)
class Changed:
    """A day that is other than in the plan before.

    Attributes:
        day: which.
        order, before: names of what the plan has, and what the one before had.
        reasons: why, where it was not by hand.
        beside: what a partner is called with which it goes now, where that is why; empty for none.
    """

    day: int
    order: str
    before: str
    reasons: tuple[Reason, ...] = ()
    beside: str = ""


def changes_of(
    place: int, horses: Sequence[Horse], plans: Sequence[Plan], pairs: Sequence[Pair], shared: Shared, prices: Parts
) -> tuple[Changed, ...]:
    """Return what the plan of one horse of a string changes of the plan before.

    A day is given back to what it had, all else left: what is broken then, or dearer, is the reason.
    """
    return tuple(_changes(place, horses, plans, pairs, shared, prices))


def _changes(
    place: int, horses: Sequence[Horse], plans: Sequence[Plan], pairs: Sequence[Pair], shared: Shared, prices: Parts
) -> Iterator[Changed]:
    horse, days = horses[place], plans[place].days
    # Against what was told: an exchange of two days is no reason of its own.
    told = replace(horse, stands=horse.before)
    now = verify(told, plans[place], prices)
    for day, before in sorted(horse.before.items()):
        if not 0 <= day < horse.days or days[day] == before:
            continue
        if before not in horse.routine.orders or day in horse.pins or horse.moved_to(day, before):
            yield Changed(day, days[day], before)
            continue
        then = replace(plans[place], days=(*days[:day], before, *days[day + 1 :]))
        own = why(now, verify(told, then, prices))
        firm = [reason for reason in own if reason.rule is not None]
        one = Difference(day, day, days[day], before, 1, own)
        others = () if firm else shared_why(horses, plans, pairs, shared, place, one)
        yield Changed(
            day, days[day], before, others or own, "" if firm or others else _beside(horses, pairs, horse, day)
        )


def _beside(horses: Sequence[Horse], pairs: Sequence[Pair], horse: Horse, day: int) -> str:
    """Return what the partner of a horse on a day is called; empty for none."""
    others = {pair.other if pair.one == horse.number else pair.one for pair in pairs
              if pair.day == day and horse.number in {pair.one, pair.other}}  # fmt: skip
    return next((one.called for one in horses if one.number in others), "")


def changed_told(horse: Horse, one: Changed, shared: Shared) -> Said:
    """Return a change and its reasons in a sentence."""
    orders = horse.routine.orders
    was = orders[one.before].title if one.before in orders else one.before
    day, order = date_of(horse, one.day), orders[one.order].title
    values: dict[str, Value] = {"day": day, "order": order, "before": was}
    if one.day in horse.pins and one.day in horse.moved:
        return Said("changed_moved", values | {"on": (date_of(horse, horse.moved[one.day]),)})
    if one.day in horse.pins:
        return Said("changed_by_hand", values)
    if to := horse.moved_to(one.day, one.before):
        return Said("changed_from", values | {"on": tuple(date_of(horse, there) for there in to)})
    if one.beside:
        return Said("changed_with", values | {"partner": one.beside})
    if not one.reasons:
        return Said("changed", values)
    return Said("changed_because", values | {"reasons": said_reasons(horse, shared, one.reasons)})


def days_told(changes: Sequence[object]) -> Said:
    """Return on how many days a plan is other than the one before, in a sentence."""
    return Said("changed_days", {"count": len(changes)}) if changes else Said("unchanged")


def changes_told(horse: Horse, plan: Plan, prices: Parts) -> tuple[Said, ...]:
    """Return what a plan of a horse by itself changes of the plan before, in sentences; none where there was none."""
    if not horse.before:
        return ()
    shared = Shared()
    changes = changes_of(0, [horse], [plan], (), shared, prices)
    return (days_told(changes), *(changed_told(horse, one, shared) for one in changes))


def better_told(horse: Horse, near: Plan, other: Plan, prices: Parts) -> tuple[Said, ...]:
    """Return that another plan departs less than the one that changes fewest days, and what it has; else nothing."""
    one, two = (verify(horse, plan, prices) for plan in (near, other))
    less = (one.costs.total - one.costs.change) - (two.costs.total - two.costs.change)
    more = round(two.amounts.change - one.amounts.change)
    if more < 1 or round(less, 1) <= 0:
        return ()
    both = enumerate(zip(near.days, other.days, strict=True))
    days = [(date_of(horse, day), horse.routine.orders[new].title) for day, (old, new) in both if new != old]
    return (better_said(more, less, days),)


def better_said(more: int, less: float, days: Sequence[tuple[date, str]]) -> Said:
    """Return by how much a plan departs less that changes so many more days, and what it has on some days."""
    shown = round(less, 1)
    steps = Said("steps", {"steps": shown, "count": 1 if shown == 1 else 2})
    orders = tuple(Said("order_on", {"day": day, "order": title}) for day, title in days)
    return Said("better", {"count": more, "less": steps, "orders": orders})
