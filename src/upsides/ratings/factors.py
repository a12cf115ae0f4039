"""Effects of labelled factors on one number per row, shrunken where wanted, with heavy-tailed errors.

y = sum over factors of the effect of the row's label + error. A free factor has one unshrunken effect a
label; a shrunken one has effects N(0, variance), its variance known or estimated by restricted maximum
likelihood (Patterson & Thompson 1971) through Henderson's mixed-model equations, whose determinant gives the
likelihood. Errors are Student's t: rows far off get less weight (Lange, Little & Taylor 1989).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import minimize
from scipy.sparse import csc_array, csr_array, diags_array
from scipy.sparse.linalg import SuperLU, splu

from upsides.errors import CannotFitError
from upsides.errors.wording import gettext as _

_ROUNDS = 6
_REWEIGHTINGS = 50
_AT_ONCE = 256
_SETTLED = 1e-3


@dataclass(frozen=True, slots=True)
class Factor:
    """One factor.

    Attributes:
        name: for messages.
        code: (rows,) label numbers from 0.
        levels: how many labels.
        sd: None for free effects; a number for a known sd in units of y; NaN for an sd to be estimated.
    """

    name: str
    code: NDArray[np.int64]
    levels: int
    sd: float | None


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a sum of effects.

    Attributes:
        factor: the factor's number.
        labels: (n,) label numbers, -1 where the sum has no such part.
        times: what the effect is multiplied by, a number or (n,).
    """

    factor: int
    labels: NDArray[np.int64]
    times: float | NDArray[np.float64] = 1.0


@dataclass(frozen=True, slots=True)
class FactorFit:
    """Effects and what is needed for their errors.

    Attributes:
        effects: one (levels,) array a factor.
        sds: the sd of each factor's effects, inf for a free one.
        error_sd: scale of the errors (of the t distribution where `tail` is finite).
        weights: (rows,) weight that each row ended with, 1 being a middling row.
        residuals: (rows,) y less all effects.
    """

    effects: tuple[NDArray[np.float64], ...]
    sds: tuple[float, ...]
    error_sd: float
    weights: NDArray[np.float64]
    residuals: NDArray[np.float64]
    _starts: NDArray[np.int64]
    _solver: SuperLU

    def standard_errors(self, parts: Sequence[Part]) -> NDArray[np.float64]:
        """Return the standard errors (n,) of sums of effects, each sum made of the same parts."""
        n = len(parts[0].labels)
        errors = np.empty(n)
        for first in range(0, n, _AT_ONCE):
            rows = np.arange(first, min(n, first + _AT_ONCE))
            right = np.zeros((self._solver.shape[0], len(rows)))
            for part in parts:
                there = part.labels[rows] >= 0
                label = self._starts[part.factor] + part.labels[rows][there]
                right[label, np.flatnonzero(there)] += np.broadcast_to(part.times, n)[rows][there]
            variance = (right * self._solver.solve(right)).sum(axis=0)
            errors[rows] = self.error_sd * np.sqrt(np.maximum(variance, 0.0))
        return errors


@dataclass(frozen=True, slots=True)
class _System:
    """Incidence of all labels, which factor each belongs to, and where each factor starts."""

    incidence: csr_array
    y: NDArray[np.float64]
    factor_of: NDArray[np.int64]
    starts: NDArray[np.int64]
    free: int


@dataclass(frozen=True, slots=True)
class _Equations:
    """Weighted normal equations of a system, without the shrinking."""

    left: csc_array
    right: NDArray[np.float64]
    total: float


def _system(y: NDArray[np.float64], factors: Sequence[Factor]) -> _System:
    """Lay the labels out with the largest factor first, which keeps the elimination sparse."""
    levels = np.array([f.levels for f in factors])
    order = np.argsort(-levels, kind="stable")
    starts = np.empty(len(factors), dtype=np.int64)
    starts[order] = np.concatenate([[0], np.cumsum(levels[order])[:-1]])
    columns = np.column_stack([f.code + s for f, s in zip(factors, starts, strict=True)])
    index = np.arange(0, columns.size + 1, len(factors))
    shape = (len(y), int(levels.sum()))
    incidence = csr_array((np.ones(columns.size), columns.ravel(), index), shape=shape)
    free = sum(f.levels for f in factors if f.sd is None)
    return _System(incidence, y, np.repeat(order, levels[order]), starts, free)


def _checked(y: ArrayLike, factors: Sequence[Factor]) -> NDArray[np.float64]:
    value = np.asarray(y, dtype=np.float64)
    if not np.all(np.isfinite(value)):
        raise CannotFitError("factors", _("a value is missing"), _("leave its row out"))
    for f in factors:
        seen = np.bincount(f.code, minlength=f.levels)
        if len(f.code) != len(value) or len(seen) > f.levels or (f.sd is None and np.any(seen == 0)):
            raise CannotFitError(
                _("factor {name!r}", name=f.name),
                _("its labels do not fit the rows or a free one has no row"),
                _("number them anew"),
            )
    return value


def _equations(system: _System, weights: NDArray[np.float64]) -> _Equations:
    weighted = system.incidence.multiply(weights[:, None]).tocsr()
    total = float(system.y @ (weights * system.y))
    return _Equations(csc_array(system.incidence.T @ weighted), weighted.T @ system.y, total)


def _solve(
    system: _System, equations: _Equations, ratio: NDArray[np.float64]
) -> tuple[NDArray[np.float64], float, float, SuperLU]:
    """Return effects, error variance, restricted deviance and the factorised equations.

    `ratio` is effect variance over error variance for each factor, inf for a free one.
    """
    each = ratio[system.factor_of]
    left = csc_array(equations.left + diags_array(1.0 / each))
    solver = splu(left, permc_spec="NATURAL", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
    effects = solver.solve(equations.right)
    freedom = len(system.y) - system.free
    variance = float(equations.total - effects @ equations.right) / freedom
    determinant = float(np.log(np.abs(solver.U.diagonal())).sum())
    deviance = determinant + float(np.log(each[np.isfinite(each)]).sum()) + freedom * np.log(variance)
    return effects, variance, deviance, solver


def _estimated_ratio(
    system: _System,
    equations: _Equations,
    known: NDArray[np.float64],
    start: NDArray[np.float64],
    width: float,
    precision: float,
) -> NDArray[np.float64]:
    """Return the variance ratios, unknown ones (NaN in `known`) at their restricted maximum likelihood."""
    unknown = np.flatnonzero(np.isnan(known))
    if len(unknown) == 0:
        return known

    def filled(log_ratio: NDArray[np.float64]) -> NDArray[np.float64]:
        whole = known.copy()
        whole[unknown] = np.exp(np.clip(log_ratio, -18, 18))
        return whole

    centre: NDArray[np.float64] = np.log(start[unknown])
    simplex = np.vstack([centre, centre + width * np.eye(len(centre))])

    def deviance(log_ratio: NDArray[np.float64]) -> float:
        return _solve(system, equations, filled(log_ratio))[2]

    found = minimize(
        deviance,
        centre,
        method="Nelder-Mead",
        options={"xatol": precision, "fatol": 0.1 * precision, "initial_simplex": simplex},
    )
    return filled(found.x)


def _reweighted(
    system: _System, weights: NDArray[np.float64], ratio: NDArray[np.float64], tail: float
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], float, SuperLU]:
    """Alternate effects and weights at given variance ratios until the error variance settles."""
    before = np.inf
    for _turn in range(_REWEIGHTINGS):
        effects, variance, _first, solver = _solve(system, _equations(system, weights), ratio)
        residuals = system.y - system.incidence @ effects
        if not np.isfinite(tail) or abs(variance / before - 1) < _SETTLED:
            break
        before = variance
        weights = (tail + 1) / (tail + residuals**2 / variance)
    return weights, residuals, effects, variance, solver


def fit_factors(y: ArrayLike, factors: Sequence[Factor], tail: float = np.inf, precision: float = 0.02) -> FactorFit:
    """Fit the effects of several factors at once.

    Args:
        y: (rows,) the number to be explained.
        factors: what explains it; at least one free, and the free ones together not redundant.
        tail: degrees of freedom of the errors' t distribution; inf for normal errors.
        precision: to which the logs of estimated variance ratios are found.

    Raises:
        CannotFitError: values or labels are missing, or labels do not fit.
    """
    value = _checked(y, factors)
    centre = float(value.mean())
    system = _system(value - centre, factors)
    sd = np.array([np.inf if f.sd is None else f.sd for f in factors])
    ratio = np.full(len(factors), 0.3)
    weights = np.ones(len(value))
    variance = float(np.var(value))
    for round_ in range(_ROUNDS):
        before = variance
        equations = _equations(system, weights)
        width = 2.0 if round_ == 0 else 0.3
        ratio = _estimated_ratio(system, equations, sd**2 / variance, ratio, width, precision)
        weights, residuals, effects, variance, solver = _reweighted(system, weights, ratio, tail)
        if abs(variance / before - 1) < _SETTLED:
            break
    parts = [effects[s : s + f.levels].copy() for s, f in zip(system.starts, factors, strict=True)]
    parts[next(i for i, f in enumerate(factors) if f.sd is None)] += centre
    sds = tuple(float(s) for s in np.sqrt(ratio * variance))
    return FactorFit(tuple(parts), sds, float(np.sqrt(variance)), weights, residuals, system.starts, solver)
