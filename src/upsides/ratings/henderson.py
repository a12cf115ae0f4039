"""Henderson's mixed-model equations in general, at given variances.

    [X'R X    X'R Z    ] [b]   [X'R y]
    [Z'R X    Z'R Z + K] [u] = [Z'R y]

with R the inverse of the residuals' covariance matrix and K that of the random effects (Henderson 1975,
Biometrics 31:423). Several random parts stand side by side; several traits are one long y with Kronecker
products in R and K.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.linalg import cho_factor, cho_solve
from scipy.sparse.linalg import splu

from upsides.errors import CannotFitError
from upsides.errors.wording import gettext as _

Floats = NDArray[np.float64]
Matrix = Floats | sparse.csr_array
WHAT = _("mixed-model equations")


@dataclass(frozen=True, slots=True)
class RandomPart:
    """One random effect of the model.

    Attributes:
        incidence: (n, q) which record belongs to which level (Z), dense or sparse.
        precision: (q, q) inverse covariance matrix of the levels, e.g. inverse relationships over the
            variance.
        variance: prior variance of a level, one number or (q,), against which reliability is measured.
    """

    incidence: Matrix
    precision: Matrix
    variance: float | Floats


@dataclass(frozen=True, slots=True)
class Solutions:
    """Solutions of the equations.

    Attributes:
        fixed: (p,) fixed effects and
        fixed_se: (p,) their standard errors; empty when none were asked for.
        random: one (q,) array of effects a random part.
        random_se: one (q,) array of standard errors of prediction a part; none when not asked for.
        reliability: one (q,) array of `1 - se^2 / variance` a part; none when not asked for.
    """

    fixed: Floats
    fixed_se: Floats
    random: tuple[Floats, ...]
    random_se: tuple[Floats, ...]
    reliability: tuple[Floats, ...]


def mixed_model_equations(
    y: Floats,
    X: Matrix,
    parts: Sequence[RandomPart],
    residual: float | Matrix,
    *,
    standard_errors: bool = True,
) -> Solutions:
    """Solve for fixed and random effects.

    Args:
        y: (n,) records.
        X: (n, p) fixed effects, of full rank: drop the levels that are set to zero.
        parts: the random effects.
        residual: residual variance, or the (n, n) inverse of the residuals' covariance matrix.
        standard_errors: whether to invert the equations for standard errors and reliabilities; done densely,
            so up to some ten thousand equations. Without, the equations are solved sparsely.

    Raises:
        CannotFitError: when the equations are singular or shapes do not fit.
    """
    fixed, designs = _csr(X), [_csr(part.incidence) for part in parts]
    whole: Any = sparse.hstack([fixed, *designs], format="csr")
    if whole.shape[0] != y.size:
        raise CannotFitError(
            WHAT, _("{size} records but {shape} rows", size=y.size, shape=whole.shape[0]), _("give one row a record")
        )
    weight = _precision(residual, y.size)
    none = sparse.csr_array((fixed.shape[1], fixed.shape[1]))
    prior: Any = sparse.block_diag([none, *(_csr(part.precision) for part in parts)], format="csr")
    left = sparse.csc_array(whole.T @ weight @ whole + prior)
    right = np.asarray(whole.T @ (weight @ y))
    solution, error = _dense(left, right) if standard_errors else (_sparse(left, right), np.empty(0))
    bounds = np.cumsum([fixed.shape[1], *(design.shape[1] for design in designs)])
    values, errors = np.split(solution, bounds[:-1]), np.split(error, bounds[:-1])
    if not standard_errors:
        return Solutions(values[0], error, tuple(values[1:]), (), ())
    told = tuple(1.0 - se**2 / part.variance for se, part in zip(errors[1:], parts, strict=True))
    return Solutions(values[0], errors[0], tuple(values[1:]), tuple(errors[1:]), told)


def _csr(matrix: Matrix) -> Any:
    return sparse.csr_array(matrix)


def _precision(residual: float | Matrix, records: int) -> Any:
    if isinstance(residual, float | int):
        return sparse.eye_array(records, format="csr") / residual
    return _csr(residual)


def _dense(left: Any, right: Floats) -> tuple[Floats, Floats]:
    """Return the solution and the square roots of the inverse's diagonal."""
    try:
        factor = cho_factor(left.toarray(), lower=True)
    except np.linalg.LinAlgError:
        raise _singular() from None
    if np.diag(factor[0]).min() < 1e-7 * np.diag(factor[0]).max():
        raise _singular()
    inverse = cho_solve(factor, np.eye(right.size))
    return cho_solve(factor, right), np.sqrt(np.diag(inverse))


def _sparse(left: Any, right: Floats) -> Floats:
    try:
        return np.asarray(splu(left).solve(right))
    except RuntimeError:
        raise _singular() from None


def _singular() -> CannotFitError:
    reason = _("the equations are singular: two effects say the same")
    return CannotFitError(WHAT, reason, _("drop one level of each fixed effect after the first"))
