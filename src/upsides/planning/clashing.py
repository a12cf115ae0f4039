"""Which rules of a morning clash, when no plan keeps all: sets of which none could be smaller, until there is a plan.

Halving the rules and looking which half is needed beside the other finds it (Junker 2004, QuickXplain: preferred
explanations and relaxations for over-constrained problems, AAAI, 167-172).
"""

from collections.abc import Callable, Sequence
from typing import Final, TypeVar

from upsides.planning.lot_model import lot_model
from upsides.planning.morning import Morning
from upsides.planning.prices import Parts
from upsides.planning.rule import Clash, Rule, rules_of, without_rules
from upsides.planning.solving import solve

T = TypeVar("T")
GIVEN_UP_LAST: Final = (
    "law", "young", "weight", "skill", "not_by", "not_with", "apart", "gallop", "size", "partners", "hours", "most",
    "pin", "rider",
)  # fmt: skip
"""Kinds of rules of a morning: what keeps somebody from harm stays before what was only wished or agreed."""


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


def clashes(
    rules: Sequence[T], holds: Callable[[Sequence[T]], bool], dear: Sequence[T], *, behind: bool = False
) -> Clash[T]:
    """Return every set that is found when each one found is given up before the next is looked for.

    Args:
        rules: as of `smallest`.
        holds: likewise.
        dear: the rules in the order in which they are kept, where it is told without which there is a plan.
        behind: whether what stands in the way with only one rule of a set given up is looked for, too.
    """
    found: list[tuple[T, ...]] = []
    left = list(rules)
    while left and (one := smallest(left, holds)):
        found.append(one)
        left = [rule for rule in left if rule not in one]
    if not found:
        return Clash()
    if len(found) == 1 and all(holds([rule for rule in rules if rule != up]) for up in found[0]):
        return Clash(tuple(found), any_one=True)
    without = {rule for one in found for rule in one}
    for rule in dear:
        if rule in without and holds([each for each in rules if each not in without or each == rule]):
            without.remove(rule)
    also = _behind(rules, holds, found) if behind else ()
    return Clash(tuple(found), without=tuple(rule for rule in rules if rule in without), behind=also)


def _behind(rules: Sequence[T], holds: Callable[[Sequence[T]], bool], found: Sequence[tuple[T, ...]]) -> tuple[T, ...]:
    """Return the rules of no set that clash with what is left of one when one of its rules is given up."""
    told = {rule for one in found for rule in one}
    also: set[T] = set()
    for one in found:
        others = told.difference(one)
        for up in one:
            also |= {*smallest([rule for rule in rules if rule not in others and rule != up], holds)} - told
    return tuple(rule for rule in rules if rule in also)


def clash(morning: Morning, *, seed: int = 0) -> Clash[Rule]:
    """Return which rules no plan keeps together; none where there is a plan.

    That a horse goes out once and a rider has one horse at a time is never given up.
    """
    rules = rules_of(morning)

    def holds(kept: Sequence[Rule]) -> bool:
        return feasible(without_rules(morning, set(rules) - set(kept)), seed=seed)

    return clashes(rules, holds, sorted(rules, key=lambda rule: GIVEN_UP_LAST.index(rule.kind)))


def feasible(morning: Morning, *, seed: int = 0) -> bool:
    """Return whether there is any plan of a morning."""
    return solve(lot_model(morning, Parts()).program, seed=seed).feasible
