"""The (restricted) likelihood of a crossed table at given variance ratios: value, slope and curvature."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from upsides.errors import CannotFitError
from upsides.errors.wording import gettext as _
from upsides.ratings.crossed.curvature import (
    Probes,
    Spread,
    block_norms,
    expected_information,
    solve_probes,
)
from upsides.ratings.crossed.equations import (
    Covariates,
    Effects,
    Scales,
    fit_data,
    fit_pieces,
    residuals,
    scales,
)
from upsides.ratings.crossed.table import LEVELS, CrossedTable

Floats = NDArray[np.float64]
MOST = 1e8  # of a variance over the residual's: beyond it, rounding decides
NOTHING_LEFT = 1e-16  # of y'Wy: a residual variance below it is rounding


class Solver(Protocol):
    """The inner factor's equations at one pair of ratios."""

    def solve(self, right: Floats) -> Floats:
        """Return `S^-1 right`."""

    def spread(self, probes: Probes, solved: tuple[Floats, ...]) -> Spread:
        """Return the traces and, where asked for, the diagonals of the inverse; the last thing asked."""


MakeSolver = Callable[[CrossedTable, Scales], Solver]


@dataclass(frozen=True, slots=True)
class Point:
    """The likelihood at one pair of variance ratios.

    Attributes:
        ratios: (2,) race and horse variance over residual variance; the race's is ignored when races are
            fixed.
        residual: residual variance, given or the best for these ratios.
        deviance: -2 log likelihood (restricted or not); not a number where the solver gives no determinant.
        slope: (3,) derivative of the log likelihood by log variance (race, horse, residual).
        average: (3, 3) average information in log variances.
        observed: (3, 3) observed information in log variances (from probes where they are random).
        slope_noise: (3, 3) Monte Carlo covariance of the slope.
        deviance_noise: Monte Carlo standard error of the deviance.
        scales, covariates, effects, spread: the solution itself.
    """

    ratios: Floats
    residual: float
    deviance: float
    slope: Floats
    average: Floats
    observed: Floats
    slope_noise: Floats
    deviance_noise: float
    scales: Scales
    covariates: Covariates
    effects: Effects
    spread: Spread


def evaluate(
    table: CrossedTable,
    ratios: Floats,
    make: MakeSolver,
    probes: Probes,
    *,
    reml: bool,
    residual: float | None = None,
) -> Point:
    """Return the likelihood at `ratios`; without a residual variance, at the best one for these ratios."""
    if ratios.max() > MOST:
        raise _no_luck()
    s = scales(table, float(ratios[0]), float(ratios[1]))
    solver = make(table, s)
    covariates, effects = fit_data(table, s, solver)
    pieces = fit_pieces(table, s, solver, covariates, effects)
    solved = solve_probes(table, s, solver, probes)
    spread = solver.spread(probes, solved)
    norms = block_norms(probes, solved, covariates if reml else None)
    squares = _squares(table, s, effects)
    freedom = table.runs - (_fixed_effects(table) if reml else 0)
    variance = float(squares.sum()) / freedom if residual is None else residual
    if not variance > NOTHING_LEFT * float(table.products[-1, -1]):
        raise _no_luck()
    traces, norms, noise = _told(table, s, covariates, spread, norms, reml=reml)
    ridge = np.array([s.outer_ridge, s.inner_ridge])
    levels = ridge * [s.outer_diagonal.size, s.inner_diagonal.size]
    told = np.append(levels - traces, freedom - (levels - traces).sum())
    slope = -0.5 * (told - squares / variance)
    average = _average_information(pieces / variance, squares / variance)
    observed = 2 * average - expected_information(told, norms) - np.diag(slope)
    deviance = _log_determinants(table, s, covariates, spread, reml=reml) - float(np.log(table.weight).sum())
    deviance += freedom * float(np.log(2 * np.pi * variance)) + float(squares.sum()) / variance
    turn = [0, 1, 2] if table.races_outer else [1, 0, 2]
    both = np.ix_(turn, turn)
    alone = table.races_fixed and not reml  # then the determinant is that of the horses alone, without probes
    return Point(
        ratios, variance, deviance, slope[turn], average[both], observed[both], noise[both],
        0.0 if alone else float(np.sqrt(spread.noise[0])), s, covariates, effects, spread,
    )  # fmt: skip


def _no_luck() -> CannotFitError:
    return CannotFitError(LEVELS, _("race and horse explain every run without error"), _("check how y was made"))


def _fixed_effects(table: CrossedTable) -> int:
    return table.covariates + (table.races.size if table.races_fixed else 0)


def _squares(table: CrossedTable, s: Scales, effects: Effects) -> Floats:
    """Return the sums of squares (outer, inner, residual) that add up to `s_e^2 y' P y`."""
    parts = ((s.outer, s.outer_ridge, effects.outer), (s.inner, s.inner_ridge, effects.inner))
    factors = [ridge * float((u**2).sum()) / t**2 if t > 0 else 0.0 for t, ridge, u in parts]
    left = residuals(table, effects)
    return np.array([*factors, float((table.weight * left) @ left)])


def _told(
    table: CrossedTable, s: Scales, cov: Covariates, spread: Spread, norms: Floats, *, reml: bool
) -> tuple[Floats, Floats, Floats]:
    """Return traces (2,), norms (2, 2) and the slope's noise (3, 3) of the random factors."""
    ridge = np.array([s.outer_ridge, s.inner_ridge])
    if table.races_fixed and not reml:  # the fixed races take no part: each horse stands alone
        inverses = [1.0 / s.outer_diagonal, 1.0 / s.inner_diagonal]
        traces = ridge * [float(v.sum()) for v in inverses]
        return traces, np.diag(ridge * [float(((1.0 - v) ** 2).sum()) for v in inverses]), np.zeros((3, 3))
    traces = np.array([spread.outer_trace, spread.inner_trace])
    if reml:
        inverse = np.linalg.inv(cov.remaining)
        traces += [float(np.sum((v.T @ v) * inverse)) for v in (cov.outer, cov.inner)]
    into = 0.5 * np.array([[1.0, 0.0], [0.0, 1.0], [-1.0, -1.0]]) * ridge
    return ridge * traces, norms * np.outer(ridge, ridge), into @ np.diag(spread.noise[1:]) @ into.T


def _log_determinants(table: CrossedTable, s: Scales, cov: Covariates, spread: Spread, *, reml: bool) -> float:
    if table.races_fixed and not reml:
        horses = s.inner_diagonal if table.races_outer else s.outer_diagonal
        return float(np.log(horses).sum())
    whole = spread.log_determinant + float(np.log(s.outer_diagonal).sum())
    return whole + (float(np.linalg.slogdet(cov.remaining)[1]) if reml else 0.0)


def _average_information(pieces: Floats, squares: Floats) -> Floats:
    """Fill the residual's row from `sum_j F_i' P F_j = F_i' P y`, F_i a variance's piece of y."""
    whole = np.zeros((3, 3))
    whole[:2, :2] = pieces
    whole[2, :2] = whole[:2, 2] = squares[:2] - pieces.sum(axis=0)
    whole[2, 2] = squares[2] - whole[2, :2].sum()
    return whole / 2
