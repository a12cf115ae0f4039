"""A string's plan that is soon had, horse after horse: what a search that was stopped too early falls back on."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from upsides.planning.program import Program
from upsides.planning.solving import solve
from upsides.planning.work.horse import Horse, Plan
from upsides.planning.work.model import add_horse
from upsides.planning.work.routine import Parts
from upsides.planning.work.shared import Shared, verify_shared
from upsides.planning.work.taken import Taken

DEAR: Final = 1000.0
"""Steps of a change of a plan that stands, where as few days as can be change: more than a day can cost otherwise."""


def first_plans(horses: Sequence[Horse], shared: Shared, prices: Parts, *, seed: int = 0) -> tuple[Plan, ...] | None:
    """Return plans that keep every rule, made one horse after the other, none upsides but by hand; None for none found.

    Each takes what those before it, and orders by hand of all, have left of the mornings.
    """
    taken = Taken(shared)
    for horse in horses:
        for day, name in horse.pins.items():
            taken.take(day, horse.routine.orders[name])
    found = []
    for horse in horses:
        program = Program()
        columns = add_horse(program, _alone(taken.left(horse)), replace(prices, change=DEAR) if horse.least else prices)
        solved = solve(program, seed=seed)
        if solved.values is None:
            return None
        found.append(columns.plan(solved.values))
        for day, name in enumerate(found[-1].days):
            if day not in horse.pins:
                taken.take(day, horse.routine.orders[name])
    return tuple(found) if not verify_shared(horses, found, shared.together, shared) else None


def _alone(horse: Horse) -> Horse:
    """Return a horse that goes upsides by hand only."""
    return replace(horse, routine=replace(horse.routine, company="alone"), partners=False)
