"""The plan of one horse's work that departs least from the routine, with its proof; the next best; the nearest."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from upsides.errors import StoppedEarlyError, WorkClashError
from upsides.planning.clashing import clashes
from upsides.planning.program import Program
from upsides.planning.rule import Clash, Rule
from upsides.planning.solving import Solved, Watch, solve
from upsides.planning.work.checking import check
from upsides.planning.work.horse import Horse, Plan
from upsides.planning.work.least import solve_least
from upsides.planning.work.model import Columns, add_horse
from upsides.planning.work.naming import said_rule
from upsides.planning.work.routine import Parts
from upsides.planning.work.rules import rules_of, without_rules
from upsides.planning.work.said import plain
from upsides.planning.work.verifying import verify

CLOSE: Final = 1e-4
"""Costs as near as this are one, in steps: a solver's rows hold to a millionth, and prices are a few steps."""


@dataclass(frozen=True, slots=True)
class Work:
    """A plan of one horse's work, and how good it is.

    Attributes:
        horse, plan: whose, and what.
        amounts: how far it departs from the routine.
        costs: the same in steps.
        bound: no plan costs less, of a second or third plan none besides those before it.
    """

    horse: Horse
    plan: Plan
    amounts: Parts
    costs: Parts
    bound: float

    @property
    def gap(self) -> float:
        """Steps by which the plan may be above the cheapest there is."""
        return max(self.costs.total - self.bound, 0.0)

    @property
    def proven(self) -> bool:
        """Whether no plan costs less."""
        return self.gap <= CLOSE


def plan_work(
    horse: Horse, prices: Parts, count: int = 1, *, seed: int = 0, watch: Watch | None = None, fast: bool = False
) -> tuple[Work, ...]:
    """Return the plans that depart least from the routine, the best first; each differs in a day from all before it.

    Args:
        horse: whose work.
        prices: of departures, in steps.
        count: how many; where there are fewer, all there are.
        seed: of the solver.
        watch: who is told, and who may stop it; a stop keeps what there is.
        fast: whether each has fast work on other days than all before it, as far as there are such plans.

    Raises:
        WorkRefusedError: the facts cannot be right.
        WorkClashError: no plan keeps all rules; it names some that clash.
        StoppedEarlyError: it was stopped before there was a plan.
    """
    check(horse)

    def made() -> tuple[Program, Columns]:
        program = Program()
        return program, add_horse(program, horse, prices)

    program, columns = made()
    best = priced(columns, prices, _solved(program, columns, seed, watch))
    return (best, *next_plans(made, [best.plan], count - 1, prices, seed=seed, watch=watch, fast=fast))


def next_plans(
    made: Callable[[], tuple[Program, Columns]],
    before: Sequence[Plan],
    count: int,
    prices: Parts,
    *,
    seed: int = 0,
    watch: Watch | None = None,
    fast: bool = False,
) -> Iterator[Work]:
    """Yield the plans of a program that depart least besides those before; a stop ends them.

    Args:
        made: makes the program, with the columns of the horse.
        before: those there are.
        count: how many more at the most.
        prices: as of `plan_work`.
        seed: likewise.
        watch: likewise.
        fast: likewise.
    """
    known = list(before)
    for other in [True, False] if fast else [False]:
        program, columns = made()
        for plan in known:
            forbid(program, columns, plan, fast=other)
        while len(known) < len(before) + count and not (watch is not None and watch.stop()):
            solved = solve(program, seed=seed, watch=watch)
            if solved.values is None:
                break
            found = priced(columns, prices, solved)
            yield found
            known.append(found.plan)
            forbid(program, columns, found.plan, fast=other)


def adapt(horse: Horse, prices: Parts, *, seed: int = 0, watch: Watch | None = None) -> Work:
    """Return the plan that changes as few days as can be of the plan that stands, and of these departs least.

    Days that have gone, and what was fixed by hand since, are in the facts: a day that was missed is past, and a day
    that was dragged is pinned.

    Raises:
        WorkRefusedError, WorkClashError, StoppedEarlyError: as `plan_work`.
    """
    check(horse)
    program = Program()
    columns = add_horse(program, horse, prices)
    found = solve_least(program, [columns], seed=seed, watch=watch)
    return priced(columns, prices, _had(columns, found.solved, seed, watch))


def clash(horse: Horse, *, seed: int = 0, watch: Watch | None = None) -> Clash[Rule]:
    """Return which rules no plan keeps together; none where there is a plan.

    Where it is told without which there is one, what the vet and authorities say is given up last.

    Raises:
        StoppedEarlyError: it was stopped before that was known.
    """
    rules = rules_of(horse)

    def holds(kept: Sequence[Rule]) -> bool:
        left = without_rules(horse, set(rules) - set(kept))
        program = Program()
        add_horse(program, left, Parts())
        return feasible(program, seed, watch)

    return clashes(rules, holds, rules[::-1], behind=True)


def feasible(program: Program, seed: int, watch: Watch | None) -> bool:
    """Return whether anything meets the rows of a program.

    Raises:
        StoppedEarlyError: it was stopped before that was known.
    """
    if watch is not None and watch.stop():
        raise StoppedEarlyError
    found = solve(program, seed=seed, watch=None if watch is None else Watch(stop=watch.stop))
    if found.values is None and found.feasible:
        raise StoppedEarlyError
    return found.feasible


def _clashes(horse: Horse, seed: int, watch: Watch | None) -> WorkClashError:
    found = clash(horse, seed=seed, watch=watch)
    return clash_error(found, lambda rule: plain(said_rule(horse, rule)))


def clash_error(found: Clash[Rule], say: Callable[[Rule], str]) -> WorkClashError:
    """Return the error that tells a clash, each rule in words."""
    words = found.told(say)
    sets = tuple(tuple((rule.kind, rule.of) for rule in one) for one in found.sets)
    return WorkClashError(sets, words.sets, words.without, any_one=found.any_one, behind=words.behind)


def _solved(program: Program, columns: Columns, seed: int, watch: Watch | None) -> Solved:
    return _had(columns, solve(program, seed=seed, watch=watch), seed, watch)


def _had(columns: Columns, solved: Solved, seed: int, watch: Watch | None) -> Solved:
    if not solved.feasible:
        raise _clashes(columns.horse, seed, watch)
    if solved.values is None:
        raise StoppedEarlyError
    return solved


def priced(columns: Columns, prices: Parts, solved: Solved) -> Work:
    """Return the plan of a solution, priced by the verifier.

    Raises:
        StoppedEarlyError: it was stopped before there was one.
    """
    if solved.values is None:
        raise StoppedEarlyError
    plan = columns.plan(solved.values)
    verdict = verify(columns.horse, plan, prices)
    return Work(columns.horse, plan, verdict.amounts, verdict.costs, solved.bound)


def forbid(program: Program, columns: Columns, plan: Plan, *, fast: bool = False) -> None:
    """Add that a plan differs from this one in at least one of the days planned one by one, or in its fast work."""
    if not fast:
        own = [columns.on(day, name) for day, name in enumerate(plan.days)]
        program.row_of(np.array(own), high=len(own) - 1.0)
        return
    names = [name for name in columns.names if columns.horse.routine.orders[name].fast and name != "race"]
    works = np.array([name in names for name in plan.days])
    own = [columns.on(day, name) for day in range(len(plan.days)) for name in names]
    program.row_of(own, np.repeat(np.where(works, -1.0, 1.0), len(names)), low=1.0 - works.sum())
