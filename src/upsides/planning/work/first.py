"""A string's plan that is soon had, horse after horse: what a search that was stopped too early falls back on."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from upsides.planning.program import Program
from upsides.planning.solving import solve
from upsides.planning.work.horse import Horse, Plan, Step
from upsides.planning.work.model import add_horse
from upsides.planning.work.orders import Order
from upsides.planning.work.routine import Parts
from upsides.planning.work.shared import Shared, verify_shared


def first_plans(horses: Sequence[Horse], shared: Shared, prices: Parts, *, seed: int = 0) -> tuple[Plan, ...] | None:
    """Return plans that keep every rule, made one horse after the other, none upsides but by hand; None for none found.

    Each takes what those before it, and orders by hand of all, have left of the mornings.
    """
    room = _Room(shared)
    for horse in horses:
        for day, name in horse.pins.items():
            room.take(day, horse.routine.orders[name])
    found = []
    for horse in horses:
        program = Program()
        columns = add_horse(program, room.left(horse), prices)
        solved = solve(program, seed=seed)
        if solved.values is None:
            return None
        found.append(columns.plan(solved.values))
        for day, name in enumerate(found[-1].days):
            if day not in horse.pins:
                room.take(day, horse.routine.orders[name])
    return tuple(found) if not verify_shared(horses, found, shared.together, shared) else None


class _Room:
    """What is taken of the mornings so far."""

    def __init__(self, shared: Shared) -> None:
        self.shared = shared
        self.slots: Counter[tuple[int, int]] = Counter()
        self.workers: Counter[int] = Counter()
        self.riders: Counter[int] = Counter()

    def take(self, day: int, order: Order) -> None:
        if order.gallop is not None:
            self.slots[order.gallop, day] += 1
        if order.exercise != "race":
            self.workers[day] += order.fast
            self.riders[day] += order.ridden

    def left(self, horse: Horse) -> Horse:
        """Return a horse to which what is full is shut; its own orders by hand, and races, stay."""
        own = {*horse.pins, *horse.race_on, *range(horse.days, horse.length)}
        shut = {one for one, most in self.shared.slots.items() if self.slots[one] >= most and one[1] not in own}
        quick = [day for day, most in self.shared.workers.items() if self.workers[day] >= most and day not in own]
        full = {day for day, most in self.shared.riders.items() if self.riders[day] >= most and day not in own}
        slow = frozenset(one.exercise for one in horse.routine.orders.values() if not one.fast)
        return replace(
            horse,
            routine=replace(horse.routine, company="alone"),
            partners=False,
            closed=horse.closed | shut,
            unridden=horse.unridden | full,
            steps=(*horse.steps, *(Step(day, day, slow, "stand_down") for day in quick)),
        )
