"""What others have taken of the mornings of a string, and what that leaves to one horse."""

from collections import Counter
from dataclasses import dataclass, field, replace

from upsides.planning.work.horse import Horse, Step
from upsides.planning.work.orders import Order
from upsides.planning.work.shared import Shared


@dataclass(slots=True)
class Taken:
    """Horses so far by gallop and day, in fast work and ridden by day."""

    shared: Shared
    slots: Counter[tuple[int, int]] = field(default_factory=Counter)
    workers: Counter[int] = field(default_factory=Counter)
    riders: Counter[int] = field(default_factory=Counter)

    def take(self, day: int, order: Order, horses: int = 1) -> None:
        """Count an order of a day; -1 gives it back."""
        if order.gallop is not None:
            self.slots[order.gallop, day] += horses
        if order.exercise != "race":
            self.workers[day] += horses * order.fast
            self.riders[day] += horses * order.ridden

    def left(self, horse: Horse) -> Horse:
        """Return a horse to which what is full is shut; its own orders by hand, and races, stay."""
        own = {*horse.pins, *horse.race_on, *range(horse.days, horse.length)}
        shut = {one for one, most in self.shared.slots.items() if self.slots[one] >= most and one[1] not in own}
        quick = [day for day, most in self.shared.workers.items() if self.workers[day] >= most and day not in own]
        full = {day for day, most in self.shared.riders.items() if self.riders[day] >= most and day not in own}
        slow = frozenset(one.exercise for one in horse.routine.orders.values() if not one.fast)
        return replace(
            horse,
            closed=horse.closed | shut,
            unridden=horse.unridden | full,
            steps=(*horse.steps, *(Step(day, day, slow, "stand_down") for day in quick)),
        )
