"""What a whole string shares of a morning: gallops, fast workers, riders, partners; a plan of it against these."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Final

from upsides.planning.rule import Rule
from upsides.planning.work.horse import Horse, Plan

NOTHING: Final[Mapping[int, int]] = MappingProxyType({})
NO_SLOTS: Final[Mapping[tuple[int, int], int]] = MappingProxyType({})
NO_NAMES: Final[Mapping[int, str]] = MappingProxyType({})

SHARED: Final = frozenset({"slots", "workers", "riders", "partners"})
"""Kinds of rules that horses share."""


@dataclass(frozen=True, slots=True)
class Shared:
    """Limits of the days that are planned one by one; what is not named is not limited.

    Attributes:
        slots: the most horses by (gallop, day).
        workers: the most horses that do fast work, by day; races do not count.
        riders: the most horses that are ridden, by day.
        figure_lb, trip_m: partners differ by no more than this in their figures and in their trips.
        without: numbers of horses that may work upsides without a partner.
        together: pairs that were ordered by hand, whatever their figures and trips.
        alone: (number, day) of those that were ordered upsides by hand and have no partner.
        names: of gallops, by number, for what is told.
    """

    slots: Mapping[tuple[int, int], int] = field(default_factory=lambda: NO_SLOTS)
    workers: Mapping[int, int] = field(default_factory=lambda: NOTHING)
    riders: Mapping[int, int] = field(default_factory=lambda: NOTHING)
    figure_lb: float = 7.0
    trip_m: float = 400.0
    without: frozenset[int] = frozenset()
    together: frozenset["Pair"] = frozenset()
    alone: frozenset[tuple[int, int]] = frozenset()
    names: Mapping[int, str] = field(default_factory=lambda: NO_NAMES)

    def may_pair(self, one: Horse, other: Horse) -> bool:
        """Return whether two horses are of about one figure and one trip; where one is not known they are not."""
        if one.figure is None or other.figure is None or one.trip_m is None or other.trip_m is None:
            return False
        return abs(one.figure - other.figure) <= self.figure_lb and abs(one.trip_m - other.trip_m) <= self.trip_m

    def may_go(self, one: Horse, other: Horse, day: int) -> bool:
        """Return whether two horses may go upsides on a day: who was ordered with somebody by name, with those only."""
        named, back = (a.beside.get(day, frozenset()) for a in (one, other))
        if named or back:
            return other.number in named or one.number in back
        return self.may_pair(one, other)

    @property
    def settled(self) -> frozenset[tuple[int, int]]:
        """(number, day) of which it is settled with whom a horse goes upsides, or that it has no partner."""
        return self.alone | {(number, pair.day) for pair in self.together for number in (pair.one, pair.other)}


@dataclass(frozen=True, slots=True, order=True)
class Pair:
    """Two horses that work upsides on a day, the lower number first."""

    day: int
    one: int
    other: int


def shared_rules(shared: Shared, horses: Sequence[Horse]) -> tuple[Rule, ...]:
    """Return every rule that horses share."""
    upsides = (horse for horse in horses if any(order.upsides for order in horse.routine.orders.values()))
    return (
        *(Rule("workers", (day,)) for day in sorted(shared.workers)),
        *(Rule("riders", (day,)) for day in sorted(shared.riders)),
        *(Rule("slots", one) for one in sorted(shared.slots)),
        *(Rule("partners", (horse.number,)) for horse in upsides if horse.number not in shared.without),
    )


def without_shared(shared: Shared, rules: Iterable[Rule]) -> Shared:
    """Return the limits with some rules given up."""
    up = set(rules)
    return replace(
        shared,
        slots={one: most for one, most in shared.slots.items() if Rule("slots", one) not in up},
        workers={day: most for day, most in shared.workers.items() if Rule("workers", (day,)) not in up},
        riders={day: most for day, most in shared.riders.items() if Rule("riders", (day,)) not in up},
        without=shared.without | {rule.of[0] for rule in up if rule.kind == "partners"},
    )


def verify_shared(
    horses: Sequence[Horse], plans: Sequence[Plan], pairs: Iterable[Pair], shared: Shared
) -> tuple[Rule, ...]:
    """Return which shared rules plans of a string break, each once, without a solver."""
    return tuple(sorted({*_of_days(horses, plans, shared), *_of_pairs(horses, plans, tuple(pairs), shared)}))


def _of_days(horses: Sequence[Horse], plans: Sequence[Plan], shared: Shared) -> Iterator[Rule]:
    slots: Counter[tuple[int, int]] = Counter()
    workers: Counter[int] = Counter()
    riders: Counter[int] = Counter()
    for horse, plan in zip(horses, plans, strict=True):
        for day, name in enumerate(plan.days):
            order = horse.routine.orders[name]
            if order.gallop is not None:
                slots[order.gallop, day] += 1
            if order.exercise != "race":
                workers[day] += order.fast
                riders[day] += order.ridden
    yield from (Rule("slots", one) for one, most in shared.slots.items() if slots[one] > most)
    yield from (Rule("workers", (day,)) for day, most in shared.workers.items() if workers[day] > most)
    yield from (Rule("riders", (day,)) for day, most in shared.riders.items() if riders[day] > most)


def _of_pairs(horses: Sequence[Horse], plans: Sequence[Plan], pairs: Sequence[Pair], shared: Shared) -> Iterator[Rule]:
    """Yield horses whose work upsides has no partner, or one that does not suit or does something else."""
    by_number = {horse.number: horse for horse in horses}
    does = {
        (horse.number, day): name
        for horse, plan in zip(horses, plans, strict=True)
        for day, name in enumerate(plan.days)
        if horse.routine.orders[name].upsides
    }
    beside: Counter[tuple[int, int]] = Counter()
    for pair in pairs:
        both = [(pair.one, pair.day), (pair.other, pair.day)]
        beside.update(both)
        by_hand = pair in shared.together
        same = does.get(both[0]) is not None and does.get(both[0]) == does.get(both[1])
        if not same or not (by_hand or shared.may_go(by_number[pair.one], by_number[pair.other], pair.day)):
            yield Rule("partners", (pair.one,))
    for (number, day), times in beside.items():
        if (times > 1 and (number, day) not in shared.settled) or (number, day) not in does:
            yield Rule("partners", (number,))
    free = {one for one in does if one[0] in shared.without} | shared.alone
    yield from (Rule("partners", (n,)) for n, day in does if beside[n, day] == 0 and (n, day) not in free)
