"""The next best plans of one horse of a string, all others doing what the string's plan has for them."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import partial

from upsides.planning.program import Program
from upsides.planning.solving import Watch
from upsides.planning.work.horse import Horse, Plan
from upsides.planning.work.model import Columns, add_horse
from upsides.planning.work.outside import WeekOutside, weeks_outside
from upsides.planning.work.plans import Work, next_plans
from upsides.planning.work.routine import Parts
from upsides.planning.work.shared import Pair
from upsides.planning.work.shown import Difference, differences, differences_of, shared_why
from upsides.planning.work.string import StringWork
from upsides.planning.work.taken import Taken


@dataclass(frozen=True, slots=True)
class Other:
    """Another plan of a horse.

    Attributes:
        work: the plan, with what it costs; its bound counts a step for each partner that it leaves.
        leaves: pairs of the string's plan that it breaks: their day, and who is left without a partner.
        departs: where it departs from the routine, and why.
        outside: its weeks outside the routine.
    """

    work: Work
    leaves: tuple[tuple[int, int], ...]
    departs: tuple[Difference, ...]
    outside: tuple[WeekOutside, ...] = ()


class Others:
    """The next best plans of the horses of a string, one horse after another."""

    def __init__(self, string: StringWork, prices: Parts) -> None:
        self.string, self.prices, self.taken = string, prices, Taken(string.shared)
        for horse, plan in zip(string.horses, string.plans, strict=True):
            self._take(horse, plan, 1)

    def of(self, place: int, count: int = 2, *, seed: int = 0, watch: Watch | None = None) -> tuple[Other, ...]:
        """Return the next best plans, each with fast work on other days than all before it, where there are such plans.

        They keep every limit while the rest of the string does what is planned. A horse may leave a partner, at the
        price of the other order that the partner then has; it finds no new one.

        Args:
            place: of the horse in the string.
            count: how many; where there are fewer, or it was stopped, those that there are.
            seed: of the solver.
            watch: who may stop it.
        """
        horse, plan = self.string.horses[place], self.string.plans[place]
        self._take(horse, plan, -1)
        left = self.taken.left(horse)
        self._take(horse, plan, 1)

        def made() -> tuple[Program, Columns]:
            program = Program()
            columns = replace(add_horse(program, left, self.prices), horse=horse)
            self._company(program, columns, plan)
            return program, columns

        found = next_plans(made, [plan], count, self.prices, seed=seed, watch=watch, fast=True)
        return tuple(self._other(place, work) for work in found)

    def _take(self, horse: Horse, plan: Plan, horses: int) -> None:
        for day, name in enumerate(plan.days):
            self.taken.take(day, horse.routine.orders[name], horses)

    def _pairs(self, number: int) -> Iterator[tuple[Pair, int]]:
        """Yield the pairs of a horse, each with the partner."""
        for pair in self.string.pairs:
            if number in {pair.one, pair.other}:
                yield pair, pair.other if pair.one == number else pair.one

    def _company(self, program: Program, columns: Columns, plan: Plan) -> None:
        """Add that the horse goes upsides only where it has a partner, and what it costs to leave one."""
        horse = columns.horse
        beside = {pair.day for pair, _other in self._pairs(horse.number)}
        for day in range(horse.days):
            kept = plan.days[day] if day in beside else horse.pins.get(day)
            shut = [
                columns.on(day, name) for name in columns.names if horse.routine.orders[name].upsides and name != kept
            ]
            if shut:
                program.row_of(shut, high=0.0)
            if day in beside:
                left = int(program.columns([self.prices.swapped])[0])
                program.row_of([columns.on(day, plan.days[day]), left], low=1.0)

    def _other(self, place: int, work: Work) -> Other:
        """Return a plan with who is left without a partner, and where it departs from the routine."""
        string, number = self.string, work.horse.number
        before, now = string.plans[place].days, work.plan.days
        left = {pair: other for pair, other in self._pairs(number) if now[pair.day] != before[pair.day]}
        plans = (*string.plans[:place], work.plan, *string.plans[place + 1 :])
        pairs = [pair for pair in string.pairs if pair not in left]
        shared = replace(string.shared, without=string.shared.without.union(left.values()))
        # On a day of a partner that it leaves it would find one, so that not the partner is the reason.
        own = {one.first: one for one in differences(work.horse, work.plan, self.prices)}
        days = {pair.day for pair in left}
        departs = differences_of(place, string.horses, plans, pairs, shared, self.prices)
        told = tuple(own[one.first] if one.first in days else one for one in departs)
        taken = partial(shared_why, string.horses, plans, pairs, shared, place)
        outside = weeks_outside(work.horse, work.plan, self.prices, told, taken)
        return Other(work, tuple(sorted((pair.day, other) for pair, other in left.items())), told, outside)
