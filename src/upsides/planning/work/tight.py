"""Which limits of its mornings a plan of a string uses up, although the routine asks for more."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from upsides.planning.work.asked import asked
from upsides.planning.work.horse import Horse, Plan
from upsides.planning.work.orders import Order
from upsides.planning.work.shared import Shared


@dataclass(frozen=True, slots=True)
class Tight:
    """A limit that stands in the routine's way.

    Attributes:
        kind: workers, riders or slots, as of `Shared`.
        day: which.
        gallop: its number; None for workers and riders.
        most: horses that it lets through, all of them taken.
        asks: horses of which the routine asks it that day.
    """

    kind: str
    day: int
    gallop: int | None
    most: int
    asks: int


def tight(horses: Sequence[Horse], plans: Sequence[Plan], shared: Shared) -> tuple[Tight, ...]:
    """Return the limits of mornings that a plan of a string uses up and that its routines would go beyond, by day."""
    wanted = [asked(horse).orders for horse in horses]
    planned = [[one.routine.orders[name] for name in plan.days] for one, plan in zip(horses, plans, strict=True)]
    found = []
    for kind, day, gallop, most, counts in _limits(shared):
        has, asks = (sum(counts(own[day]) for own in orders if day < len(own)) for orders in (planned, wanted))
        if has >= most < asks:
            found.append(Tight(kind, day, gallop, most, asks))
    return tuple(sorted(found, key=lambda one: (one.day, one.kind, one.gallop or 0)))


def _limits(shared: Shared) -> Iterator[tuple[str, int, int | None, int, Callable[[Order], bool]]]:
    """Yield every limit with what counts towards it; races do not."""
    for day, most in shared.workers.items():
        yield "workers", day, None, most, lambda order: order.fast and order.exercise != "race"
    for day, most in shared.riders.items():
        yield "riders", day, None, most, lambda order: order.ridden and order.exercise != "race"
    for (gallop, day), most in shared.slots.items():
        yield "slots", day, gallop, most, lambda order, on=gallop: order.gallop == on  # type: ignore[misc]
