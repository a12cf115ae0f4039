"""Henderson's mixed-model equations of a crossed table at given variances, one factor absorbed.

Effects are written as `u = t v` with `t` the ratio of an effect's standard deviation to the residual's, so
that the equations stay definite as a variance goes to nothing (Bates et al. 2015, J Stat Software 67:1,
section 3). A fixed factor has t = 1 and no ridge. Absorbing the outer factor leaves, for the inner one,

    S = diag(t_i^2 w_i + d_i) - t_o^2 t_i^2 B' diag(t_o^2 w_o + d_o)^-1 B.
"""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from upsides.errors import CannotFitError
from upsides.errors.wording import gettext as _
from upsides.ratings.crossed.table import LEVELS, CrossedTable

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Scales:
    """What the equations need to know of the variances, as ratios to the residual's.

    Attributes:
        outer, inner: standard deviation ratios t (1 for a fixed factor).
        outer_ridge, inner_ridge: d, 1 for a random and 0 for a fixed factor.
        outer_diagonal: (outer,) `t_o^2 w_o + d_o`.
        inner_diagonal: (inner,) `t_i^2 w_i + d_i`.
        pull: (outer,) `t_o^2 t_i^2 / outer_diagonal`, the weight of `B' B` in S.
    """

    outer: float
    inner: float
    outer_ridge: float
    inner_ridge: float
    outer_diagonal: Floats
    inner_diagonal: Floats
    pull: Floats


def scales(table: CrossedTable, race_ratio: float, horse_ratio: float) -> Scales:
    """Return the scales for ratios of race (ignored when races are fixed) and horse variance."""
    race = (1.0, 0.0) if table.races_fixed else (float(np.sqrt(race_ratio)), 1.0)
    horse = (float(np.sqrt(horse_ratio)), 1.0)
    (t_o, d_o), (t_i, d_i) = (race, horse) if table.races_outer else (horse, race)
    outer_diagonal = t_o**2 * table.outer_weight + d_o
    inner_diagonal = t_i**2 * table.inner_weight + d_i
    return Scales(t_o, t_i, d_o, d_i, outer_diagonal, inner_diagonal, t_o**2 * t_i**2 / outer_diagonal)


class Reduced(Protocol):
    """The inner factor's equations S at one pair of variances, however they are solved."""

    def solve(self, right: Floats) -> Floats:
        """Return `S^-1 right`, (inner, c)."""


@dataclass(frozen=True, slots=True)
class Effects:
    """Estimates for some data columns.

    Attributes:
        beta: (p, c) fixed effects.
        outer, inner: (levels, c) effects.
    """

    beta: Floats
    outer: Floats
    inner: Floats


@dataclass(frozen=True, slots=True)
class Covariates:
    """The covariates' share of the equations: X'WX after both factors are absorbed, and how X leans on them.

    Attributes:
        remaining: (p, p) what remains of `X'WX`.
        outer, inner: (levels, p) effects that X's columns would be given (not multiplied by t).
    """

    remaining: Floats
    outer: Floats
    inner: Floats


def absorb(table: CrossedTable, s: Scales, reduced: Reduced, outer: Floats, inner: Floats) -> tuple[Floats, Floats]:
    """Return unscaled solutions (outer, inner) for data with these level sums, X left aside."""
    toward = inner - table.to_inner(s.outer**2 / s.outer_diagonal[:, None] * outer)
    v_inner = reduced.solve(s.inner * toward)
    v_outer = (s.outer * outer - s.outer * s.inner * table.to_outer(v_inner)) / s.outer_diagonal[:, None]
    return v_outer, v_inner


def fit_data(table: CrossedTable, s: Scales, reduced: Reduced) -> tuple[Covariates, Effects]:
    """Return the covariates' share and the estimates for y.

    Raises:
        CannotFitError: when X is not of full rank beside the effects.
    """
    p = table.covariates
    v_outer, v_inner = absorb(table, s, reduced, table.outer_data, table.inner_data)
    remaining = table.products - s.outer * table.outer_data.T @ v_outer - s.inner * table.inner_data.T @ v_inner
    covariates = Covariates(remaining[:p, :p], v_outer[:, :p], v_inner[:, :p])
    _check_rank(covariates.remaining, table.products)
    beta = np.asarray(np.linalg.solve(covariates.remaining, remaining[:p, p:]), dtype=np.float64)
    outer = s.outer * (v_outer[:, p:] - v_outer[:, :p] @ beta)
    inner = s.inner * (v_inner[:, p:] - v_inner[:, :p] @ beta)
    return covariates, Effects(beta, outer, inner)


def fit_pieces(table: CrossedTable, s: Scales, reduced: Reduced, cov: Covariates, y: Effects) -> Floats:
    """Return `[a' P b, ...]` for a, b in (Z_o u_o, Z_i u_i), times the residual variance, (2, 2).

    These are the average-information matrix's quadratic forms (Gilmour, Thompson & Cullis 1995, Biometrics
    51:1440). A fixed outer or inner factor gives rows of zeros.
    """
    p = table.covariates
    outer = np.hstack([table.outer_weight[:, None] * y.outer, table.to_outer(y.inner)])
    inner = np.hstack([table.to_inner(y.outer), table.inner_weight[:, None] * y.inner])
    fixed = table.outer_data[:, :p].T @ y.outer, table.inner_data[:, :p].T @ y.inner
    v_outer, v_inner = absorb(table, s, reduced, outer, inner)
    x = np.hstack(fixed)
    right = x - s.outer * cov.outer.T @ outer - s.inner * cov.inner.T @ inner
    beta = np.linalg.solve(cov.remaining, right)
    cross = y.outer.T @ outer[:, 1:]
    own = np.array(
        [[(y.outer.T @ outer[:, :1]).item(), cross.item()], [cross.item(), (y.inner.T @ inner[:, 1:]).item()]]
    )
    return np.asarray(own - s.outer * outer.T @ v_outer - s.inner * inner.T @ v_inner - right.T @ beta)


def residuals(table: CrossedTable, effects: Effects) -> Floats:
    """Return `y - X beta - race - horse` of each run, (n,), in the table's own order."""
    p = table.covariates
    fitted = table.data[:, :p] @ effects.beta[:, 0]
    outer = np.repeat(effects.outer[:, 0], np.diff(table.start))
    return np.asarray(table.data[:, p] - fitted - outer - effects.inner[table.inner, 0])


def _check_rank(remaining: Floats, products: Floats) -> None:
    for column, (left, whole) in enumerate(zip(np.diag(remaining), np.diag(products), strict=False)):
        if not left > 1e-12 * whole:
            reason = _("covariate {column} says nothing that the other effects do not say already", column=column)
            raise CannotFitError(LEVELS, reason, _("leave it out, or make races random"))
    if remaining.size and np.linalg.cond(remaining / np.sqrt(np.outer(np.diag(remaining), np.diag(remaining)))) > 1e10:
        raise CannotFitError(LEVELS, _("the covariates are not independent of each other"), _("leave one of them out"))
