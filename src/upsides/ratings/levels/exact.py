"""The equations of moving levels solved exactly: one dense factorisation in races plus covariates."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import linalg

from upsides.errors import CannotFitError
from upsides.errors.wording import gettext as _
from upsides.ratings.levels import blocks
from upsides.ratings.levels import record as records
from upsides.ratings.levels.record import Components, Record

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Exact:
    """The equations solved at given components.

    Attributes:
        components: the components.
        inverse: V^-1, flat blocks.
        C: inverse coefficient matrix, races then covariates.
        b: its solution: race effects (lb), then coefficients.
        u: P y = V^-1 (y - T b), shape (n,).
        deviance: minus twice the restricted log-likelihood, without its constant.
    """

    components: Components
    inverse: Floats
    C: Floats
    b: Floats
    u: Floats
    deviance: float


def solve(record: Record, v: Components) -> Exact:
    """Solve the equations at the components `v`.

    Raises:
        CannotFitError: a race or covariate is not determined by the runs.
    """
    inverse, logdet = records.inverses(record, v)
    VY = records.times(record, inverse, record.y[:, None])
    rhs = records.gather(record, VY)[:, 0]
    L = _factor(_coefficients(record, inverse))
    b = linalg.cho_solve((L, True), rhs, check_finite=False)
    logdet += 2.0 * float(np.log(np.diag(L)).sum())
    u = records.times(record, inverse, (record.y - records.spread(record, b[:, None])[:, 0])[:, None])[:, 0]
    return Exact(v, inverse, _symmetric_inverse(L), b, u, logdet + float(record.y @ VY[:, 0] - rhs @ b))


def _coefficients(record: Record, inverse: Floats) -> Floats:
    """Return T' V^-1 T plus the prior precisions, shape (races + q, races + q)."""
    r, q = record.races, record.X.shape[1]
    S = np.zeros((r, r))
    blocks.add_by_race(record.start, record.block, inverse, record.race, S)
    M = np.zeros((r + q, r + q))
    M[:r, :r] = S
    if q:
        M[:, r:] = records.gather(record, records.times(record, inverse, record.X))
        M[r:, :r] = M[:r, r:].T
    M[np.arange(r, r + q), np.arange(r, r + q)] += record.precision
    return M


def _factor(M: Floats) -> Floats:
    """Return the lower Cholesky factor, refusing equations that the runs do not determine."""
    before = np.diag(M).copy()
    L, failed = linalg.lapack.dpotrf(M, lower=1, overwrite_a=1, clean=1)
    if failed or (np.diag(L) ** 2 < 1e-11 * before).any():
        raise CannotFitError(
            "levels", _("a covariate cannot be told apart from the races"), _("leave it out or give it a prior")
        )
    return np.asarray(L)


def _symmetric_inverse(L: Floats) -> Floats:
    inverse, _ = linalg.lapack.dpotri(L, lower=1, overwrite_c=1)
    out = np.tril(inverse)
    out += np.tril(inverse, -1).T
    return np.ascontiguousarray(out)


def projected(record: Record, s: Exact) -> Floats:
    """Return each horse's block of P = V^-1 - V^-1 T C T' V^-1, flat."""
    X = np.ascontiguousarray(record.X)
    XC = np.ascontiguousarray(X @ s.C[record.races :, record.races :])
    fixed = blocks.fixed_part_blocks(record.start, record.block, record.race, s.C, X, XC)
    return blocks.projected_blocks(record.start, record.block, s.inverse, fixed)


def score_and_information(record: Record, s: Exact) -> tuple[Floats, Floats]:
    """Return the score of the restricted log-likelihood and the average information, in log components.

    Source: Gilmour, Thompson & Cullis (1995), Biometrics 51:1440.
    """
    traces = records.block_traces(record, s.components, projected(record, s))
    F = np.hstack(records.derivatives(record, s.components, s.u[:, None]))
    VF = records.times(record, s.inverse, F)
    PF = VF - records.times(record, s.inverse, records.spread(record, s.C @ records.gather(record, VF)))
    return 0.5 * (F.T @ s.u - traces), 0.5 * F.T @ PF
