"""What a plan comes to: its metres by speed, week by week, and where it departs from the routine and why."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from upsides.planning.rule import Rule
from upsides.planning.work.asked import Asked, Week, asked
from upsides.planning.work.horse import Horse, Plan
from upsides.planning.work.orders import Floats
from upsides.planning.work.routine import PARTS, Parts
from upsides.planning.work.shared import Pair, Shared, verify_shared
from upsides.planning.work.verifying import Verdict, verify
from upsides.recordings.bouts.bins import COUNT

LEAST: Final = 1e-4
"""Steps below which nothing is dearer."""
OF_A_DAY: Final = frozenset({"pin", "race", "rider", "closed", "vet", "stand_down"})
"""Kinds of rules that hold on a day whatever is done on others."""


@dataclass(frozen=True, slots=True, eq=False)
class WeekShown:
    """What a week of a plan comes to.

    Attributes:
        week: its days, with what the routine asks.
        metres: (COUNT,) at each step of speed, races among them.
        fast_f, canter_f: furlongs of fast work and at the canter.
        orders: days of each order, by name.
    """

    week: Week
    metres: Floats
    fast_f: float
    canter_f: float
    orders: Counter[str]


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a day departs from the routine: a rule stands in the way, or else a part of the cost would be higher.

    Attributes:
        rule: which; None for a part.
        part: which, "" for a rule.
        steps: by which that part would be dearer.
    """

    rule: Rule | None = None
    part: str = ""
    steps: float = 0.0


@dataclass(frozen=True, slots=True)
class Difference:
    """A departure from the routine.

    Attributes:
        first, last: the day, or the later days of a week.
        order, routine: names of what the plan has and what the routine has.
        days: how many.
        reasons: why; none where the search was stopped before it found out better.
    """

    first: int
    last: int
    order: str
    routine: str
    days: int
    reasons: tuple[Reason, ...]


def weeks_shown(horse: Horse, plan: Plan) -> tuple[WeekShown, ...]:
    """Return what the weeks of a plan come to."""
    orders, found = horse.routine.orders, []
    for week in asked(horse).weeks:
        own = Counter(plan.days[week.first : week.last + 1])
        for span in plan.later:
            own.update(dict(span.counts) if week.first <= span.first <= week.last else {})
        work = [n * orders[name].profile for name, n in own.items() if name != "race"]
        raced = [orders["race"].over(race.metres) for race in horse.races if week.first <= race.day <= week.last]
        metres = np.sum([np.zeros(COUNT), *work, *raced], axis=0)
        fast, canter = (sum(n * getattr(orders[k], f) for k, n in own.items()) for f in ("fast_f", "canter_f"))
        found.append(WeekShown(week, np.asarray(metres), fast, canter, own))
    return tuple(found)


def differences(horse: Horse, plan: Plan, prices: Parts) -> tuple[Difference, ...]:
    """Return where a plan departs from the routine, day by day and then week by week, each with its reasons.

    A day is given back to the routine, all else left: what is broken then, or dearer, is the reason. Of a day whose
    work was moved by hand, that is.
    """
    wanted, now = asked(horse), verify(horse, plan, prices)
    found = []
    for day, name in enumerate(plan.days):
        routine = wanted.orders[day].name
        if name != routine and (to := horse.moved_to(day, routine)):
            by_hand = tuple(Reason(Rule("pin", (horse.number, one))) for one in to)
            found.append(Difference(day, day, name, routine, 1, by_hand))
        elif name != routine:
            then = replace(plan, days=(*plan.days[:day], routine, *plan.days[day + 1 :]))
            found.append(Difference(day, day, name, routine, 1, why(now, verify(horse, then, prices))))
    for week in wanted.weeks:
        found += _later(horse, plan, week, wanted, prices, now)
    return tuple(found)


def string_differences(
    horses: Sequence[Horse], plans: Sequence[Plan], pairs: Sequence[Pair], shared: Shared, prices: Parts
) -> tuple[tuple[Difference, ...], ...]:
    """Return where each plan of a string departs from its routine.

    What horses share is the reason where no rule of that day stands in the way. A day that is given back to the routine
    is given back without a new partner.
    """
    return tuple(differences_of(place, horses, plans, pairs, shared, prices) for place in range(len(horses)))


def differences_of(
    place: int,
    horses: Sequence[Horse],
    plans: Sequence[Plan],
    pairs: Sequence[Pair],
    shared: Shared,
    prices: Parts,
) -> tuple[Difference, ...]:
    """Return what `string_differences` does, of the horse at one place."""
    horse, found = horses[place], []
    for one in differences(horse, plans[place], prices):
        firm = any(reason.rule is not None and reason.rule.kind in OF_A_DAY for reason in one.reasons)
        later = one.last >= horse.days
        others = () if firm or later else shared_why(horses, plans, pairs, shared, place, one)
        found.append(replace(one, reasons=others or one.reasons))
    return tuple(found)


def shared_why(
    horses: Sequence[Horse], plans: Sequence[Plan], pairs: Sequence[Pair], shared: Shared, place: int, one: Difference
) -> tuple[Reason, ...]:
    """Return the shared rules that giving one day of one horse back to its routine would break."""
    days = plans[place].days
    then = replace(plans[place], days=(*days[: one.first], one.routine, *days[one.first + 1 :]))
    number = horses[place].number
    left = [pair for pair in pairs if pair.day != one.first or number not in {pair.one, pair.other}]
    partners = {n for pair in pairs for n in (pair.one, pair.other)} - {number}
    broken = verify_shared(horses, [*plans[:place], then, *plans[place + 1 :]], left, shared)
    firm = [rule for rule in broken if rule.kind != "partners"]
    return tuple(Reason(rule) for rule in firm or [one for one in broken if one.of[0] not in partners])


def why(now: Verdict, then: Verdict) -> tuple[Reason, ...]:
    """Return the rules that only the other plan breaks, or else what is dearer in it."""
    broken = [Reason(rule) for rule in then.broken if rule not in now.broken]
    if broken:
        return tuple(broken)
    dearer = ((part, getattr(then.costs, part) - getattr(now.costs, part)) for part in PARTS)
    return tuple(Reason(None, part, more) for part, more in dearer if more > LEAST)


def _later(horse: Horse, plan: Plan, week: Week, wanted: Asked, prices: Parts, now: Verdict) -> Iterator[Difference]:
    """Yield what the later days of a week have more and less of than the routine, paired in their order."""
    spans = [k for k, span in enumerate(plan.later) if week.first <= span.first <= week.last]
    if not spans:
        return
    first = plan.later[spans[0]].first
    asks = Counter(order.name for order in wanted.orders[first : week.last + 1])
    has: Counter[str] = Counter()
    for k in spans:
        has.update(dict(plan.later[k].counts))
    more, less = list((has - asks).elements()), list((asks - has).elements())
    for (order, routine), n in Counter(zip(more, less, strict=True)).items():
        others = (_swapped(plan, k, order, routine) for k in spans if plan.later[k].of(order))
        ways = [verify(horse, other, prices) for other in others]
        best = min(ways, key=lambda one: (len(one.broken), one.costs.total))
        yield Difference(first, week.last, order, routine, n, why(now, best))


def _swapped(plan: Plan, place: int, order: str, routine: str) -> Plan:
    """Return a plan with a day of one order given to another in one of its later spans."""
    counts = Counter(dict(plan.later[place].counts))
    counts[order] -= 1
    counts[routine] += 1
    own = replace(plan.later[place], counts=tuple((name, n) for name, n in counts.items() if n))
    return replace(plan, later=(*plan.later[:place], own, *plan.later[place + 1 :]))
