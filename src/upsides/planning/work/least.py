"""As few days changed as can be of the plans that stand, and of all such plans the one that departs least.

First the days that change are counted and nothing else; then a row holds the plan to that number, and what departs from
the routine is made as little as that leaves.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import ceil
from typing import Final

import numpy as np

from upsides.planning.narrowing import solve_narrowed
from upsides.planning.program import Program
from upsides.planning.solving import Progress, Solved, Watch
from upsides.planning.work.horse import Horse
from upsides.planning.work.model import Columns

SLACK: Final = 1e-6
"""What a bound may be above a whole number, for how numbers are kept."""


@dataclass(frozen=True, slots=True)
class Least:
    """What was found.

    Attributes:
        solved: the plan, with the bound of plans that change no more days.
        changes: days of the plans that stand that it changes.
        bound: no plan changes fewer.
    """

    solved: Solved
    changes: int
    bound: int


def standing(horse: Horse) -> Iterator[tuple[int, str]]:
    """Yield the planned days of the plan that stands, each with its order."""
    yield from ((day, name) for day, name in horse.stands.items() if 0 <= day < horse.days)


def solve_least(program: Program, columns: Sequence[Columns], *, seed: int = 0, watch: Watch | None = None) -> Least:
    """Solve a program so that as few standing days of some horses change as can be.

    Args:
        program: what to solve; a row is added to it.
        columns: of the horses whose plans stand.
        seed: as of `solve`.
        watch: as of `solve`; of the first search it is told days, of the second steps.
    """
    days = [(one, day, name) for one in columns for day, name in standing(one.horse)]
    stay = np.array([one.on(day, name) for one, day, name in days if name in one.names], dtype=np.int64)
    unknown = len(days) - stay.size
    if not stay.size:
        return Least(solve_narrowed(program, seed=seed, watch=watch), unknown, unknown)
    cost = np.zeros(program.n)
    cost[stay] = -1.0
    counted = replace(program, cost=[cost], offset=float(len(days)))
    first = solve_narrowed(counted, seed=seed, watch=None if watch is None else replace(watch, tell=_days(watch)))
    if first.values is None:
        return Least(first, 0, 0)
    changes = round(first.objective)
    program.row_of(stay, low=float(len(days) - changes))
    found = solve_narrowed(program, seed=seed, watch=watch)
    if found.values is None:
        objective = program.offset + float(np.concatenate(program.cost) @ first.values)
        found = Solved(first.values, objective, min(max(found.bound, 0.0), objective), feasible=True)
    return Least(found, changes, max(ceil(first.bound - SLACK), 0))


def _days(watch: Watch) -> Callable[[Progress], None]:
    def tell(now: Progress) -> None:
        watch.tell(replace(now, of="days"))

    return tell
