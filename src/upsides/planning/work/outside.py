"""Weeks of a plan that are outside their routine: how much fast work, canter and lessons they have, and why."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Final

from upsides.planning.work.asked import asked
from upsides.planning.work.horse import Horse, Plan
from upsides.planning.work.orders import Order
from upsides.planning.work.routine import Parts
from upsides.planning.work.shared import Pair, Shared
from upsides.planning.work.shown import LEAST, Difference, Reason, WeekShown, shared_why, weeks_shown, why
from upsides.planning.work.verifying import Verdict, verify

COUNTED: Final = ("fast", "canter", "lessons")
"""What a week has from and to."""
TOLD_F: Final = 0.05
"""Furlongs below which nothing is told: it would not be seen in a number."""
InTheWay = Callable[[Difference], Sequence[Reason]]
"""What others of a string have taken of a day on which a horse would do something else."""


@dataclass(frozen=True, slots=True)
class Outside:
    """What a week has less or more of than its routine.

    Attributes:
        kind: fast, canter (furlongs) or lessons.
        has: how much.
        low, high: from and to, by the routine.
    """

    kind: str
    has: float
    low: float
    high: float

    @property
    def off(self) -> float:
        """How much it has beyond the routine; less than nothing for what it lacks."""
        return min(self.has - self.low, 0.0) + max(self.has - self.high, 0.0)


@dataclass(frozen=True, slots=True)
class WeekOutside:
    """A week that is outside its routine.

    Attributes:
        first, last: its planned days, both included.
        parts: in what.
        reasons: why; none where the search was stopped before it found out better.
    """

    first: int
    last: int
    parts: tuple[Outside, ...]
    reasons: tuple[Reason, ...]


def nothing(_one: Difference) -> Sequence[Reason]:
    """Return that nobody else stands in the way."""
    return ()


def weeks_outside(
    horse: Horse, plan: Plan, prices: Parts, found: Sequence[Difference], others: InTheWay = nothing
) -> tuple[WeekOutside, ...]:
    """Return the weeks that have less or more than their routine, in their order.

    The reasons are those of the days of the week that depart so; where fast work is missing also what stands against
    having it on the best of the other days.

    Args:
        horse: whose.
        plan: what.
        prices: of departures.
        found: its departures from the routine.
        others: in a string, what others have taken.
    """
    weeks = ((week, tuple(_parts(horse, week))) for week in weeks_shown(horse, plan))
    now = verify(horse, plan, prices)
    return tuple(
        WeekOutside(
            week.week.first,
            week.week.last,
            parts,
            tuple(dict.fromkeys(_reasons(horse, plan, prices, now, week, parts, found, others))),
        )
        for week, parts in weeks
        if parts
    )


def string_outside(
    horses: Sequence[Horse],
    plans: Sequence[Plan],
    pairs: Sequence[Pair],
    shared: Shared,
    prices: Parts,
    found: Sequence[Sequence[Difference]],
) -> tuple[tuple[WeekOutside, ...], ...]:
    """Return the same of each plan of a string, of which the departures are known."""
    return tuple(
        weeks_outside(horse, plan, prices, own, partial(shared_why, horses, plans, pairs, shared, place))
        for place, (horse, plan, own) in enumerate(zip(horses, plans, found, strict=True))
    )


def _parts(horse: Horse, shown: WeekShown) -> Iterator[Outside]:
    week, orders = shown.week, horse.routine.orders
    lessons = sum(n * orders[name].lesson for name, n in shown.orders.items())
    for one in (
        Outside("fast", shown.fast_f, *week.fast),
        Outside("canter", shown.canter_f, *week.canter),
        Outside("lessons", lessons, week.lessons, week.lessons),
    ):
        if abs(one.off) >= TOLD_F:
            yield one


def _much(order: Order, kind: str) -> float:
    """Return how much an order has of what is counted."""
    return float(order.lesson if kind == "lessons" else getattr(order, f"{kind}_f"))


def _reasons(
    horse: Horse,
    plan: Plan,
    prices: Parts,
    now: Verdict,
    shown: WeekShown,
    parts: Sequence[Outside],
    found: Sequence[Difference],
    others: InTheWay,
) -> Iterator[Reason]:
    """Yield why a week is outside, some of it more than once."""
    week, orders = shown.week, horse.routine.orders
    own = [one for one in found if week.first <= one.first and one.last <= week.last]
    for part in parts:
        for one in own:
            more = _much(orders[one.order], part.kind) - _much(orders[one.routine], part.kind)
            if more * part.off > 0:
                yield from one.reasons
        if part.kind == "fast" and part.off < 0:
            yield from _elsewhere(horse, plan, prices, now, shown, others)


def _elsewhere(
    horse: Horse, plan: Plan, prices: Parts, now: Verdict, shown: WeekShown, others: InTheWay
) -> tuple[Reason, ...]:
    """Return what stands against the routine's fast work on the best other day of a week; none where none is left."""
    wanted, orders, week = asked(horse).orders, horse.routine.orders, shown.week
    works = {order.name for order in wanted[week.first : week.last + 1] if order.fast_f}
    days = range(week.first, min(week.last + 1, horse.days))
    free = [day for day in days if day not in horse.race_on and not orders[plan.days[day]].fast]
    ways = []
    for day, name in ((day, name) for day in free for name in sorted(works) if wanted[day].name != name):
        one = Difference(day, day, plan.days[day], name, 1, ())
        then = verify(horse, replace(plan, days=(*plan.days[:day], name, *plan.days[day + 1 :])), prices)
        stands = tuple(Reason(rule) for rule in then.broken if rule not in now.broken) or tuple(others(one))
        ways.append((len(stands), _departs(then), day, name, stands, then))
    if not ways:
        return ()
    _many, departs, _day, _name, stands, then = min(ways, key=lambda way: way[:4])
    if stands:
        return stands
    if departs < _departs(now) - LEAST:
        return (Reason(None, "change"),) if then.costs.change > now.costs.change else ()
    return why(now, then)


def _departs(verdict: Verdict) -> float:
    """Return by how many steps a plan departs from the routine, whatever it changes."""
    return verdict.costs.total - verdict.costs.change
