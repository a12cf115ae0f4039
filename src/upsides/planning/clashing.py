"""Which rules of a morning clash, when no plan keeps all: a set of which any one given up leaves room for a plan.

Halving the rules and looking which half is needed beside the other finds it (Junker 2004, QuickXplain: preferred
explanations and relaxations for over-constrained problems, AAAI, 167-172).
"""

from collections.abc import Callable, Sequence
from typing import TypeVar

from upsides.planning.lot_model import lot_model
from upsides.planning.morning import Morning
from upsides.planning.prices import Parts
from upsides.planning.rule import Rule, rules_of, without_rules
from upsides.planning.solving import solve

T = TypeVar("T")


def smallest(rules: Sequence[T], holds: Callable[[Sequence[T]], bool]) -> tuple[T, ...]:
    """Return rules that do not hold together, none of which could be left out; none where all hold.

    Args:
        rules: in the order in which they are told, each once; what comes first is preferred to what comes last.
        holds: whether some of them leave room for a plan; fewer always leave at least as much.
    """

    def needed(known: list[T], new: bool, among: Sequence[T]) -> list[T]:  # noqa: FBT001 - as in the paper
        if new and not holds(known):
            return []
        if len(among) == 1:
            return list(among)
        half = len(among) // 2
        second = needed([*known, *among[:half]], bool(half), among[half:])
        first = needed([*known, *second], bool(second), among[:half])
        return [*first, *second]

    if holds(rules):
        return ()
    return tuple(sorted(needed([], False, rules), key=rules.index))


def clash(morning: Morning, *, seed: int = 0) -> tuple[Rule, ...]:
    """Return rules that no plan keeps together, none of which could be left out of the set; none where there is a plan.

    That a horse goes out once and a rider has one horse at a time is never given up.
    """
    rules = rules_of(morning)

    def holds(kept: Sequence[Rule]) -> bool:
        return feasible(without_rules(morning, set(rules) - set(kept)), seed=seed)

    return smallest(rules, holds)


def feasible(morning: Morning, *, seed: int = 0) -> bool:
    """Return whether there is any plan of a morning."""
    return solve(lot_model(morning, Parts()).program, seed=seed).feasible
