"""HiGHS on one thread: a program solved with its bound; progress is told, and a stop keeps the best that was found."""

from collections.abc import Callable
from dataclasses import dataclass
from math import inf
from typing import Any, Final

import highspy
import numpy as np
from scipy.sparse import csr_array

from upsides.planning.program import Floats, Ints, Program

NEAR: Final = 1e-6
"""Two objectives as near as this are one; prices are minutes."""
_INTERRUPT: Final = highspy.cb.HighsCallbackType.kCallbackMipInterrupt


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a search is.

    Attributes:
        best: cost of the best plan so far, inf for none yet.
        bound: no plan costs less.
        nodes: of the search tree.
        of: what is counted: steps or minutes of cost, or "days" that change of a plan that stands.
    """

    best: float
    bound: float
    nodes: int
    of: str = ""

    @property
    def gap(self) -> float:
        """What the best plan may be above the cheapest there is."""
        return max(self.best - self.bound, 0.0)


@dataclass(frozen=True, slots=True)
class Watch:
    """Who is told how far it is, and who may stop it.

    Attributes:
        tell: called with each progress.
        stop: asked often; True ends the search.
    """

    tell: Callable[[Progress], None] = lambda _: None
    stop: Callable[[], bool] = lambda: False


@dataclass(frozen=True, slots=True)
class Solved:
    """What a solver found.

    Attributes:
        values: (n,) of the best that was found, None for nothing.
        objective, bound: of the best, and what none is below.
        feasible: False where it is proven that nothing meets the rows.
    """

    values: Floats | None
    objective: float
    bound: float
    feasible: bool

    @property
    def proven(self) -> bool:
        """Whether nothing better exists."""
        return self.values is not None and self.objective - self.bound <= NEAR


def solve(program: Program, *, seed: int = 0, watch: Watch | None = None, start: Floats | None = None) -> Solved:
    """Solve a program to proven optimality, or until it is stopped.

    Args:
        program: what to solve.
        seed: of the solver; the same program and seed give the same answer.
        watch: who is told, and who may stop it.
        start: (n,) a point to begin from.
    """
    solver: Any = highspy.Highs()  # type: ignore[no-untyped-call] # its own class has types in part only
    for option, value in _options(seed).items():
        solver.setOptionValue(option, value)
    solver.passModel(_model(program))
    if start is not None:
        given = highspy.HighsSolution()
        given.col_value = start.tolist()
        solver.setSolution(given)
    told = _Told(watch or Watch())
    if watch is not None:
        told.listen(solver)
    ran = solver.run()
    if told.trouble is not None:
        raise told.trouble
    if ran == highspy.HighsStatus.kError:
        raise RuntimeError("HiGHS refused to run; was it used on another number of threads in this process?")
    return _solved(solver, linear=not _joined(program.whole, bool).any())


def relaxed(program: Program, *, seed: int = 0) -> tuple[float, Floats] | None:
    """Return the value of a program without whole columns, and the reduced costs; None where it has none."""
    solver: Any = highspy.Highs()  # type: ignore[no-untyped-call] # its own class has types in part only
    for option, value in _options(seed).items():
        solver.setOptionValue(option, value)
    lp = _model(program)
    lp.integrality_ = []
    solver.passModel(lp)
    solver.run()
    if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return None
    return float(solver.getInfo().objective_function_value), np.asarray(solver.getSolution().col_dual)


class Broken:
    """A program without whole columns, of which some are held between bounds.

    It is solved from nothing each time: what is held lets the solver take so much out beforehand that this is sooner
    than going on from the last answer.
    """

    def __init__(self, program: Program, held: Ints, seed: int = 0) -> None:
        self.held = held.astype(np.int32)
        self.solver: Any = highspy.Highs()  # type: ignore[no-untyped-call] # its own class has types in part only
        for option, value in _options(seed).items():
            self.solver.setOptionValue(option, value)
        lp = _model(program)
        lp.integrality_ = []
        self.solver.passModel(lp)

    def least(self, low: Floats, high: Floats) -> tuple[float, Floats] | None:
        """Return the least value and the held columns in it; None where nothing is between these bounds."""
        self.solver.changeColsBounds(self.held.size, self.held, low, high)
        self.solver.clearSolver()
        self.solver.run()
        if self.solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return None
        values = np.asarray(self.solver.getSolution().col_value)[self.held]
        return float(self.solver.getInfo().objective_function_value), values


def _options(seed: int) -> dict[str, Any]:
    return {
        "output_flag": False,
        "threads": 1,
        "parallel": "off",
        "random_seed": seed,
        "mip_rel_gap": 0.0,
        "mip_abs_gap": NEAR / 10,
    }


def _model(program: Program) -> Any:
    """Return the program as HiGHS takes it, by rows."""
    matrix = csr_array(
        (_joined(program.value, float), (_joined(program.row, np.int64), _joined(program.col, np.int64))),
        shape=(program.m, program.n),
    )
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_, lp.offset_ = program.n, program.m, program.offset
    lp.col_cost_, lp.col_lower_ = _joined(program.cost, float), np.zeros(program.n)
    lp.col_upper_ = _joined(program.upper, float)
    lp.row_lower_, lp.row_upper_ = _joined(program.low, float), _joined(program.high, float)
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.num_col_, lp.a_matrix_.num_row_ = program.n, program.m
    lp.a_matrix_.start_, lp.a_matrix_.index_, lp.a_matrix_.value_ = matrix.indptr, matrix.indices, matrix.data
    kinds = highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger
    lp.integrality_ = [kinds[whole] for whole in _joined(program.whole, bool).astype(int).tolist()]
    return lp


def _joined(blocks: list[Any], kind: type) -> Any:
    return np.concatenate(blocks).astype(kind) if blocks else np.zeros(0, dtype=kind)


@dataclass(slots=True)
class _Told:
    """What passes between the solver and the watch; trouble of the watch ends the search and is raised after it."""

    watch: Watch
    last: Progress | None = None
    trouble: Exception | None = None

    def listen(self, solver: Any) -> None:
        solver.setCallback(self._called, None)
        solver.startCallback(_INTERRUPT)

    def _called(self, _kind: Any, _message: str, out: Any, into: Any, _user: Any) -> None:
        try:
            now = Progress(out.mip_primal_bound, out.mip_dual_bound, out.mip_node_count)
            if now != self.last:
                self.last = now
                self.watch.tell(now)
            if self.watch.stop():
                into.user_interrupt = True
        except Exception as trouble:  # noqa: BLE001 - it passes through the solver's own code, and is raised afterwards
            self.trouble = trouble
            into.user_interrupt = True


def _solved(solver: Any, *, linear: bool) -> Solved:
    status, info = solver.getModelStatus(), solver.getInfo()
    found = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    nothing = highspy.HighsModelStatus.kInfeasible, highspy.HighsModelStatus.kUnboundedOrInfeasible
    if not found:
        return Solved(None, inf, inf if status in nothing else info.mip_dual_bound, feasible=status not in nothing)
    values = np.asarray(solver.getSolution().col_value, dtype=np.float64)
    bound = info.objective_function_value if linear else info.mip_dual_bound
    return Solved(values, float(info.objective_function_value), float(bound), feasible=True)
