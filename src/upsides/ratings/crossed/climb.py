"""Newton's method on the (restricted) likelihood of a crossed table, in variance ratios to the residual's.

Short steps follow the curvature in the ratios' logarithms, where the likelihood is nearest to a parabola
about its summit. Longer ones follow that in the ratios themselves where it bends down, as it does below the
summit and near nothing; else that in logarithms; else the average information, which never bends up.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.ratings.crossed.likelihood import Point

Floats = NDArray[np.float64]
Look = Callable[[Floats], Point]
SHRINK, GROW = 0.05, 20.0  # a ratio changes by at most these factors a step
SHORT = 0.3  # in log ratios
SHORTENED = 8  # a step is tried at most so often, each time at a third of its length
TURN = np.array([[1.0, 0.0, 1.0], [0.0, 1.0, 1.0], [0.0, 0.0, 1.0]])  # log ratios and residual to log variances


@dataclass(frozen=True, slots=True)
class Climb:
    """Where a climb ended.

    Attributes:
        point: the likelihood there.
        iterations: evaluations made.
        converged: whether another step would gain less than the tolerance, on a surface that bends down.
        free: (3,) whether race, horse and residual variance were free to move (not fixed, not nothing).
        ahead: (2,) the ratios where another step would lead.
    """

    point: Point
    iterations: int
    converged: bool
    free: NDArray[np.bool_]
    ahead: Floats


@dataclass(frozen=True, slots=True)
class Step:
    """A step.

    Attributes:
        factor: (2,) what to multiply the ratios by.
        gain: log likelihood that it promises.
        bends: whether the surface bends down in the ratios.
        sinking: whether a ratio heads for nothing.
    """

    factor: Floats
    gain: float
    bends: bool
    sinking: bool


def climb(look: Look, start: Floats, free: NDArray[np.bool_], floor: Floats, gain: float, most: int = 60) -> Climb:
    """Climb from `start` until a step would gain less than `gain` in log likelihood.

    Args:
        look: evaluates the likelihood at ratios (race, horse).
        start: (2,) ratios to start from.
        free: (2,) which of them may move.
        floor: (2,) ratios below which a variance counts as nothing; one that wants to sink below is set to 0.
        gain: the tolerance.
        most: evaluations at most.
    """
    free = free.copy()
    point, count = look(np.where(free, np.maximum(start, floor), 0.0)), 1
    while True:
        sunk = free & (point.ratios <= floor) & (point.slope[:2] < 0)
        if sunk.any():
            free &= ~sunk
            point, tried = look(np.where(free, point.ratios, 0.0)), 1
        else:
            step = newton_step(point, free)
            there = step.gain < gain and not step.sinking
            if there or count >= most:
                ahead = point.ratios * step.factor
                return Climb(point, count, there and step.bends, np.append(free, [True]), ahead)
            point, tried = _advance(look, point, step, floor, free)
        count += tried


def newton_step(point: Point, free: NDArray[np.bool_]) -> Step:
    """Return the next step from a point; ratios that are not free stay."""
    factor = np.ones(2)
    if not free.any():
        return Step(factor, 0.0, bends=True, sinking=False)
    slope = point.slope[:2][free]
    in_logs = for_ratios(point.observed)[np.ix_(free, free)]
    in_ratios = in_logs + np.diag(slope)
    bends = _bends_down(in_logs)
    move = np.linalg.solve(in_logs, slope) if bends else np.full(slope.size, np.inf)
    if np.abs(move).max() < SHORT:
        factor[free] = np.exp(move)
    elif _bends_down(in_ratios - in_logs / 4):  # clearly, for a long way down hangs on it
        move = np.linalg.solve(in_ratios, slope)
        factor[free] = np.clip(1.0 + move, SHRINK, GROW)
    else:
        average = for_ratios(point.average)[np.ix_(free, free)]
        move = move if bends else np.linalg.solve(average + 1e-9 * np.eye(slope.size), slope)
        factor[free] = np.exp(np.clip(move, np.log(SHRINK), np.log(GROW)))
    return Step(factor, abs(float(slope @ move)) / 2, bends, bool((factor <= SHRINK).any()))


def for_ratios(information: Floats) -> Floats:
    """Return the information in log ratios, (2, 2), with the residual variance at its best."""
    turned = TURN.T @ information @ TURN
    return np.asarray(turned[:2, :2] - np.outer(turned[:2, 2], turned[2, :2]) / turned[2, 2])


def _bends_down(information: Floats) -> bool:
    return bool(np.linalg.eigvalsh(information)[0] > 0)


def _advance(look: Look, point: Point, step: Step, floor: Floats, free: NDArray[np.bool_]) -> tuple[Point, int]:
    """Return the likelihood a step on, shortened while that is worse, and the evaluations made."""
    count, factor = 0, step.factor
    while True:
        count += 1
        ahead = look(np.where(free, np.maximum(point.ratios * factor, floor), 0.0))
        worse = ahead.deviance > point.deviance + 1e-9 * abs(point.deviance)  # never where there is none
        if not worse or count == SHORTENED:
            return ahead, count
        factor = np.cbrt(factor)
