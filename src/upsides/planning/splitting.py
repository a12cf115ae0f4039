"""A large program solved by what a few of its columns may be, with the proof that the rest of them cannot do better.

Let k be those columns, whole, and everything else broken: the least value over all k is a bound of the program. With k
held as that answer has it the program without whole columns is near, so that it is soon solved. Its answer is the best
of all where it comes down to the bound; else that k is barred, and the next best k is looked for.
"""

from dataclasses import replace
from heapq import heappop, heappush
from itertools import count
from math import inf
from typing import Final

import numpy as np
from numpy.typing import NDArray

from upsides.planning.narrowing import SMALL, solve_likely, solve_narrowed
from upsides.planning.program import Floats, Ints, Program
from upsides.planning.solving import NEAR, Broken, Progress, Solved, Watch

HALF: Final = 0.5


def solve_split(program: Program, k: Ints, *, seed: int = 0, watch: Watch | None = None) -> Solved:
    """Solve as `solve_narrowed` does, faster where a few columns of 0 or 1 keep the broken program far from the whole.

    Args:
        program: what to solve.
        k: those columns.
        seed: as of `solve`.
        watch: as of `solve`.
    """
    if k.size == 0 or program.n <= SMALL:
        return solve_narrowed(program, seed=seed, watch=watch)
    best, broken, seen = solve_likely(program, seed=seed, watch=watch), _copied(program), inf
    if best.proven or (best.feasible and watch is not None and watch.stop()):
        return best
    while True:
        least = _least(broken, k, seed, watch, best)
        bound = min(least.bound, seen)
        if best.values is not None and best.objective <= bound + NEAR:
            return replace(best, bound=min(bound, best.objective))
        if least.values is None:  # there is no other k, or it was stopped
            return replace(best, bound=bound, feasible=best.feasible or least.feasible)
        held = least.values > HALF
        told = None if watch is None else _told(watch, bound)
        wanted = inf if seen == inf else best.objective
        found = solve_narrowed(_held(program, k, held), seed=seed, watch=told, below=wanted)
        seen = min(seen, found.bound)
        if found.objective < best.objective:
            best = found
        if best.objective <= bound + NEAR or (watch is not None and watch.stop()):
            return replace(best, bound=min(bound, best.objective), feasible=True)
        broken.row_of(k, np.where(held, 1.0, -1.0), high=float(held.sum() - 1))


def _least(broken: Program, k: Ints, seed: int, watch: Watch | None, best: Solved) -> Solved:
    """Return the least value of a program of which only some columns are whole, and these in it, the nearest first."""
    solver, turn = Broken(broken, k, seed), count()
    heap: list[tuple[float, int, Floats, Floats, Floats]] = []

    def push(low: Floats, high: Floats) -> None:
        found = solver.least(low, high)
        if found is not None:
            heappush(heap, (found[0], next(turn), low, high, found[1]))

    push(np.zeros(k.size), np.ones(k.size))
    while heap:
        bound, nodes, low, high, values = heappop(heap)
        broken_ones = np.flatnonzero((values > NEAR) & (values < 1.0 - NEAR))
        if broken_ones.size == 0 or bound >= best.objective - NEAR:
            return Solved(values, bound, bound, feasible=True)
        if watch is not None:
            watch.tell(Progress(best.objective, bound, nodes))
            if watch.stop():
                return Solved(None, inf, bound, feasible=True)
        one = broken_ones[values[broken_ones].argmax()]
        above, below = low.copy(), high.copy()
        above[one], below[one] = 1.0, 0.0
        push(above, high)
        push(low, below)
    return Solved(None, inf, inf, feasible=False)


def _held(program: Program, k: Ints, held: NDArray[np.bool_]) -> Program:
    """Return a copy with some columns held at 0 or 1."""
    upper = np.concatenate(program.upper)
    upper[k[~held]] = 0.0
    copy = replace(_copied(program), upper=[upper])
    for column in k[held].tolist():
        copy.row_of([column], low=1.0)
    return copy


def _copied(program: Program) -> Program:
    """Return a copy that rows can be added to."""
    return replace(
        program,
        row=[*program.row],
        col=[*program.col],
        value=[*program.value],
        low=[*program.low],
        high=[*program.high],
    )


def _told(watch: Watch, bound: float) -> Watch:
    """Return a watch that is told no bound above that of the whole program."""

    def tell(now: Progress) -> None:
        watch.tell(replace(now, bound=min(now.bound, bound)))

    return replace(watch, tell=tell)
