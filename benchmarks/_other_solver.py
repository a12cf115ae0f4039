"""OR-Tools' CP-SAT on a program that comes in pickled: its seconds, cost and bound beside ours."""

import pickle
import sys
import time

import numpy as np

from upsides.planning.program import Program

LIMIT_S, HALVES = 60.0, 2


def run(program: Program, ours: float) -> None:
    try:
        from ortools.sat.python import cp_model
    except ImportError:
        print("  OR-Tools: skipped, it is not here; it is in the group `bench` of pyproject.toml")
        return
    model, solver = _as_constraints(program, cp_model), cp_model.CpSolver()
    solver.parameters.num_workers, solver.parameters.max_time_in_seconds = 1, LIMIT_S
    began, wall = time.process_time(), time.perf_counter()
    status = solver.solve(model)
    took, wall = time.process_time() - began, time.perf_counter() - wall
    known = status in {cp_model.OPTIMAL, cp_model.FEASIBLE}
    cost = solver.objective_value / HALVES + program.offset if known else float("inf")
    bound = solver.best_objective_bound / HALVES + program.offset
    told = "proven" if status == cp_model.OPTIMAL else f"not proven in {LIMIT_S:g} s"
    print(
        f"  CP-SAT {took:.2f} s ({wall:.1f} s), cost {cost:g}, bound {bound:g}, {told}; ratio {took / ours:.1f}",
        flush=True,
    )


def _as_constraints(program: Program, cp_model: object) -> object:
    """Return the program in whole numbers: prices in halves of a minute, free columns whole too."""
    model = cp_model.CpModel()  # type: ignore[attr-defined]
    upper = np.concatenate(program.upper)
    x = [model.new_int_var(0, int(min(most, 1000)), "") for most in upper.tolist()]
    row, col, value = (np.concatenate(one) for one in (program.row, program.col, program.value))
    low, high = np.concatenate(program.low), np.concatenate(program.high)
    order = np.argsort(row, kind="stable")
    ends = np.searchsorted(row[order], np.arange(program.m + 1))
    for i in range(program.m):
        own = order[ends[i] : ends[i + 1]]
        told = sum(int(value[j]) * x[col[j]] for j in own)
        model.add_linear_constraint(told, int(max(low[i], -(10**6))), int(min(high[i], 10**6)))
    cost = np.rint(HALVES * np.concatenate(program.cost)).astype(int).tolist()
    model.minimize(sum(price * one for price, one in zip(cost, x, strict=True) if price))
    return model


if __name__ == "__main__":
    run(pickle.loads(sys.stdin.buffer.read()), float(sys.argv[1]))  # noqa: S301 - our own, from the parent process
