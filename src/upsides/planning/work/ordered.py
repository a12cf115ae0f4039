"""The plan of a string round what was ordered by hand: partners by name, and what mornings do not take given way."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from upsides.errors import StoppedEarlyError, WorkRefusedError
from upsides.planning.rule import Clash
from upsides.planning.solving import Watch, solve
from upsides.planning.work.asked import open_orders
from upsides.planning.work.checking import check
from upsides.planning.work.horse import Horse
from upsides.planning.work.routine import Parts
from upsides.planning.work.said import Said
from upsides.planning.work.shared import Pair, Shared
from upsides.planning.work.string import StringWork, any_plan, clashing, made_string, plan_string


@dataclass(frozen=True, slots=True)
class Beyond:
    """A limit of a morning that a plan goes beyond, because what is ordered by hand leaves no other way.

    Attributes:
        kind: workers, riders or slots, as of `Shared`.
        day: which.
        gallop: its number; None for workers and riders.
        most: horses that the morning takes.
        has: those that it has.
    """

    kind: str
    day: int
    gallop: int | None
    most: int
    has: int


def plan_ordered(
    horses: Sequence[Horse], shared: Shared, prices: Parts, *, seed: int = 0, watch: Watch | None = None
) -> StringWork:
    """Return the plan of a string that departs least from its routines and leaves every order by hand as it is.

    Who was ordered upsides with somebody by name goes with it, whatever their figures. Whoever has no partner goes
    upsides all the same. Where orders by hand leave no plan within what mornings take, as few horses as can be go
    beyond. The plan's `shared` says all of it, and `beyond` where.

    Args:
        horses: each with a plan by itself, as `without_plan` tells.
        shared: what they share, without what was ordered by hand.
        prices: as of `plan_string`.
        seed: likewise.
        watch: likewise.

    Raises:
        WorkRefusedError, WorkClashError, StoppedEarlyError: as `plan_string`.
    """
    kept = by_hand(horses, shared)
    try:
        found = any_plan(horses, kept, prices, seed=seed, watch=watch)
    except StoppedEarlyError:
        kept = _with_orders(horses, kept)
        found = any_plan(horses, kept, prices, seed=seed, watch=watch)
    if found is None:
        kept = _given_way(horses, kept, seed, watch)
        found = plan_string(horses, kept, prices, seed=seed, watch=watch)
    return found


def by_hand(horses: Sequence[Horse], shared: Shared) -> Shared:
    """Return what a string shares with the pairs that were ordered by hand, and those that have nobody to go with.

    Two that were ordered other work are no pair, although they were ordered upsides with each other.
    """
    own = {(horse.number, day): horse for horse in horses for day in range(horse.days) if _upsides(horse, day)}
    together = {
        Pair(day, min(number, other), max(number, other))
        for (number, day), horse in own.items()
        for other in horse.beside.get(day, ())
        if (other, day) in own and other != number and own[other, day].pins[day] == horse.pins[day]
    }
    kept = replace(shared, together=shared.together | together)
    left = {one: horse for one, horse in own.items() if one not in kept.settled}
    alone = {one for one, horse in left.items() if not any(_partners(horses, horse, one[1], kept))}
    return replace(kept, alone=kept.alone | alone)


def _upsides(horse: Horse, day: int) -> bool:
    """Return whether a horse was ordered upsides by hand."""
    return day in horse.pins and horse.routine.orders[horse.pins[day]].upsides


def _partners(horses: Sequence[Horse], horse: Horse, day: int, shared: Shared) -> Iterator[Horse]:
    """Yield who could go upsides with a horse that was ordered so."""
    free = (one for one in horses if one.number != horse.number and (one.number, day) not in shared.settled)
    for other in free:
        if shared.may_go(horse, other, day) and horse.pins[day] in open_orders(other, day):
            yield other


def _with_orders(horses: Sequence[Horse], shared: Shared) -> Shared:
    """Return limits that have room for every order by hand: what is sure to go beyond them, known without a search."""
    orders = [(day, horse.routine.orders[name]) for horse in horses for day, name in horse.pins.items()]
    slots = Counter((one.gallop, day) for day, one in orders)
    workers, riders = (Counter(day for day, one in orders if getattr(one, kind)) for kind in ("fast", "ridden"))
    return replace(
        shared,
        slots={one: max(most, slots[one]) for one, most in shared.slots.items()},
        workers={day: max(most, workers[day]) for day, most in shared.workers.items()},
        riders={day: max(most, riders[day]) for day, most in shared.riders.items()},
    )


def _given_way(horses: Sequence[Horse], shared: Shared, seed: int, watch: Watch | None) -> Shared:
    """Return limits that leave a plan, with as few horses beyond those given, or without a partner, as can be."""
    made = made_string(horses, shared, Parts(), beyond=True)
    found = solve(made.program, seed=seed, watch=None if watch is None else Watch(stop=watch.stop))
    if found.values is None:
        return _with_orders(horses, shared)
    slots, workers, riders, alone = dict(shared.slots), dict(shared.workers), dict(shared.riders), set(shared.alone)
    for rule, column in made.over:
        more = round(float(found.values[column]))
        match rule.kind, rule.of:
            case "slots", (gallop, day):
                slots[gallop, day] += more
            case "partners", (number, day) if more:
                alone.add((number, day))
            case "workers", (day,):
                workers[day] += more
            case "riders", (day,):
                riders[day] += more
    return replace(shared, slots=slots, workers=workers, riders=riders, alone=frozenset(alone))


def beyond(shared: Shared, kept: Shared) -> tuple[Beyond, ...]:
    """Return which limits a plan's own go beyond, by day."""
    found = [
        Beyond(kind, day, None, most, own[day])
        for kind, limits, own in (("workers", shared.workers, kept.workers), ("riders", shared.riders, kept.riders))
        for day, most in limits.items()
        if own[day] > most
    ]
    found += [
        Beyond("slots", day, gallop, most, kept.slots[gallop, day])
        for (gallop, day), most in shared.slots.items()
        if kept.slots[gallop, day] > most
    ]
    return tuple(sorted(found, key=lambda one: (one.day, one.kind, one.gallop or 0)))


def without_plan(horses: Sequence[Horse], *, watch: Watch | None = None) -> dict[int, Clash[Said]]:
    """Return of each horse that has no plan by itself which of its rules clash, or what of it cannot be right.

    Raises:
        StoppedEarlyError: it was stopped before that was known.
    """
    found: dict[int, Clash[Said]] = {}
    for horse in horses:
        try:
            check(horse)
        except WorkRefusedError as error:
            told = {"typed": error.typed, "reason": error.reason, "remedy": error.remedy}
            found[horse.number] = Clash(((Said("refused", told),),))
    return found | dict(clashing([one for one in horses if one.number not in found], watch=watch))
