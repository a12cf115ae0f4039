"""A large program solved on the columns that can matter, with the proof that the others cannot.

Let L be the value without whole columns and r_j >= 0 the reduced cost of a column at nothing. Whatever has column j
costs at least L + r_j. So an answer at or below L + d, found among the columns with r_j <= d, is the best of all; where
it is above, the columns up to it come in and it is solved once more.
"""

from dataclasses import replace
from math import inf
from typing import Final

import numpy as np

from upsides.planning.program import Floats, Program
from upsides.planning.solving import NEAR, Progress, Solved, Watch, relaxed, solve

SMALL: Final = 4000
"""A program with no more columns than this is solved as it is."""
FIRST: Final = 0.12
"""The share of the columns that is tried first."""


def solve_narrowed(program: Program, *, seed: int = 0, watch: Watch | None = None, below: float = inf) -> Solved:
    """Solve as `solve` does, faster where there are many columns and the program without whole columns is near.

    Args:
        program: what to solve.
        seed: as of `solve`.
        watch: as of `solve`.
        below: only answers below this are wanted; where there is none, any or none may be returned.
    """
    found = relaxed(program, seed=seed) if program.n > SMALL else None
    if found is None:
        return solve(program, seed=seed, watch=watch)
    value, reduced = found
    if below < inf:
        return _among(program, value, reduced, max(below - value, 0.0) + NEAR, seed, watch)
    first = _among(program, value, reduced, float(np.quantile(reduced, FIRST)), seed, watch)
    if first.values is None or first.proven or (watch is not None and watch.stop()):
        return first if first.feasible else solve(program, seed=seed, watch=watch)
    return _among(program, value, reduced, first.objective - value + NEAR, seed, watch, first.values)


def solve_likely(program: Program, *, seed: int = 0, watch: Watch | None = None) -> Solved:
    """Return the best with the likeliest columns alone, and a bound of the whole; it may find none."""
    found = relaxed(program, seed=seed)
    if found is None:
        return solve(program, seed=seed, watch=watch)
    value, reduced = found
    return _among(program, value, reduced, float(np.quantile(reduced, FIRST)), seed, watch)


def _among(
    program: Program,
    value: float,
    reduced: Floats,
    reach: float,
    seed: int,
    watch: Watch | None,
    start: Floats | None = None,
) -> Solved:
    """Return the best with no column above the reach; its bound is one of the whole program."""
    out = reduced > reach
    least = value + float(reduced[out].min()) if out.any() else inf
    upper = np.where(out, 0.0, np.concatenate(program.upper))
    narrow = replace(program, upper=[upper])
    found = solve(narrow, seed=seed, watch=None if watch is None else _bounded(watch, value, least), start=start)
    return replace(found, bound=max(value, min(found.bound, least, found.objective)) if found.feasible else found.bound)


def _bounded(watch: Watch, value: float, least: float) -> Watch:
    """Return a watch that is told bounds of the whole program."""

    def tell(now: Progress) -> None:
        watch.tell(replace(now, bound=max(value, min(now.bound, least))))

    return replace(watch, tell=tell)
