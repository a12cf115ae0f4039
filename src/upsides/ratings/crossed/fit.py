"""Race and horse levels from a table of runs: a linear mixed model with two crossed factors.

    y = X beta + race + horse + e,   race ~ N(0, s_r^2) or fixed,   horse ~ N(0, s_h^2),   e ~ N(0, s_e^2 / w)

Variances by (restricted) maximum likelihood (Patterson & Thompson 1971, Biometrika 58:545), levels by
Henderson's mixed-model equations. Up to a stated size everything is exact; above it, equations are solved by
conjugate gradients and traces are estimated from random probes, and the error that this brings is reported
beside each number.
"""

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from upsides.errors import CannotFitError
from upsides.errors.wording import gettext as _
from upsides.ratings.crossed.climb import Climb, climb
from upsides.ratings.crossed.curvature import Probes, draw_probes
from upsides.ratings.crossed.equations import Scales
from upsides.ratings.crossed.exact import ExactReduced, SingleReduced
from upsides.ratings.crossed.fitted import CrossedFit, crossed_fit
from upsides.ratings.crossed.iterative import IterativeReduced
from upsides.ratings.crossed.likelihood import MakeSolver, Point, evaluate
from upsides.ratings.crossed.table import LEVELS, CrossedTable, Races, crossed_table

__all__ = ["CrossedFit", "fit_crossed", "solve_crossed"]

Floats = NDArray[np.float64]
Progress = Callable[[str], None]
EXACT_BELOW = 8000  # levels of the smaller factor: 0.5 GB and some ten seconds a factorisation on two cores
SMALL = 400  # levels of the smaller factor up to which a rough first climb would not pay
PROBES = 16
NEGLIGIBLE = 1e-6  # a variance ratio, times a typical level's weight, below which the variance is nothing
GAIN = 1e-8  # in log likelihood: a standard deviation is then within 2e-4 of its standard error
SMALL_GAIN = 1e-13  # the same for small tables, where another look costs nothing
ROUGH_GAIN = 1e-5  # well inside what the probes' noise leaves open
SINGLE_GAIN = 1e-4  # the step after it leaves less than GAIN


def fit_crossed(
    y: Floats,
    race: NDArray[Any],
    horse: NDArray[Any],
    X: Floats | None = None,
    weights: Floats | None = None,
    *,
    races: Races = "random",
    reml: bool = True,
    exact_below: int = EXACT_BELOW,
    seed: int = 0,
    progress: Progress | None = None,
) -> CrossedFit:
    """Estimate variances and levels.

    Args:
        y: (n,) figures, e.g. in pounds.
        race: (n,) labels; rows in any order, but rows in order of date are faster.
        horse: (n,) labels.
        X: (n, p) covariates without an intercept (one is added when races are random).
        weights: (n,) positive weights: a run's residual variance is `s_e^2 / weight`.
        races: "random" or "fixed".
        reml: restricted likelihood (the default) or plain.
        exact_below: the fit is exact when the smaller factor has fewer levels than this.
        seed: of the random probes.
        progress: told in words where the fit stands.

    Above `exact_below` the levels are as exact as their variances, traces carry the Monte Carlo error that is
    reported, and standard errors of levels come from message passing: against exact ones on 59,505 real runs
    they were within 1.4 % for every horse and 0.2 % on average.

    Raises:
        CannotFitError: when the table cannot carry the model, with the reason and the remedy.
    """
    table = crossed_table(y, race, horse, X, weights, races)
    exact = table.inner_weight.size < exact_below
    ended, looks = _estimate(table, draw_probes(table, PROBES, seed), progress or _silent, reml=reml, exact=exact)
    return crossed_fit(table, ended.point, ended.free, looks, converged=ended.converged, exact=exact)


def solve_crossed(
    y: Floats,
    race: NDArray[Any],
    horse: NDArray[Any],
    variances: tuple[float, float, float],
    X: Floats | None = None,
    weights: Floats | None = None,
    *,
    races: Races = "random",
    reml: bool = True,
    exact_below: int = EXACT_BELOW,
    seed: int = 0,
) -> CrossedFit:
    """Solve for the levels at given variances.

    Args:
        y: as for `fit_crossed`, and so are the others.
        race: labels.
        horse: labels.
        variances: of race (ignored when races are fixed), horse and residual, in the square of y's unit.
        X: covariates.
        weights: weights.
        races: "random" or "fixed".
        reml: which likelihood the deviance is.
        exact_below: as for `fit_crossed`.
        seed: of the random probes.

    Raises:
        CannotFitError: when the table cannot carry the model, or a variance is out of range.
    """
    if not (min(variances) >= 0 and variances[2] > 0 and np.isfinite(variances).all()):
        raise CannotFitError(
            LEVELS,
            _("variances {variances}", variances=variances),
            _("give numbers that are not negative, the last above 0"),
        )
    table = crossed_table(y, race, horse, X, weights, races)
    exact = table.inner_weight.size < exact_below
    ratios = np.array([0.0 if races == "fixed" else variances[0], variances[1]]) / variances[2]
    make: MakeSolver = ExactReduced if exact else _iterative({}, finish=True)
    point = evaluate(table, ratios, make, draw_probes(table, PROBES, seed), reml=reml, residual=variances[2])
    return crossed_fit(table, point, np.zeros(3, dtype=bool), 1, converged=True, exact=exact)


def _estimate(table: CrossedTable, probes: Probes, tell: Progress, *, reml: bool, exact: bool) -> tuple[Climb, int]:
    """Climb with cheap solvers, then with the one asked for; return the end and all looks made."""
    free = np.array([not table.races_fixed, True])
    floor = NEGLIGIBLE * np.array([table.races.size, table.horses.size]) / float(table.weight.sum())
    small = exact and table.inner_weight.size <= SMALL
    memory: dict[int, Floats] = {}
    start, looks = np.ones(2), 0
    stages: list[tuple[MakeSolver, float]] = [(_iterative(memory, finish=False), ROUGH_GAIN if exact else GAIN)]
    if exact:
        stages += [(_single(memory), SINGLE_GAIN), (ExactReduced, SMALL_GAIN if small else GAIN)]
    else:
        stages += [(_iterative(memory, finish=True), GAIN)]
    for make, gain in stages[-1:] if small else stages:
        look = _looker(table, make, probes, tell, reml=reml)
        ended = climb(look, start, free, floor, gain)
        start, looks = ended.ahead, looks + ended.iterations
        free = free if exact else ended.free[:2]
    return ended, looks


def _silent(_: str) -> None:
    """Tell nobody."""


def _iterative(memory: dict[int, Floats], *, finish: bool) -> MakeSolver:
    def make(table: CrossedTable, s: Scales) -> IterativeReduced:
        return IterativeReduced(table, s, memory, finish=finish)

    return make


def _single(memory: dict[int, Floats]) -> MakeSolver:
    def make(table: CrossedTable, s: Scales) -> SingleReduced:
        return SingleReduced(table, s, memory, finish=False)

    return make


def _looker(
    table: CrossedTable, make: MakeSolver, probes: Probes, tell: Progress, *, reml: bool
) -> Callable[[Floats], Point]:
    def look(ratios: Floats) -> Point:
        point = evaluate(table, ratios, make, probes, reml=reml)
        race, horse, residual = np.sqrt(np.append(ratios, 1.0) * point.residual)
        tell(f"levels: sd race {race:.4f}, horse {horse:.4f}, residual {residual:.4f}")
        return point

    return look
