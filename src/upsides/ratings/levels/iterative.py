"""The equations of moving levels at sizes where a dense matrix in the races would not fit.

Conjugate gradients with the diagonal as preconditioner solve them; the one trace that needs the inverse is
estimated from fixed random signs (Hutchinson 1990), so the score is a smooth function of the components
with a known Monte Carlo error.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.ratings.levels import blocks
from upsides.ratings.levels import record as records
from upsides.ratings.levels.record import Components, Record

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Iterated:
    """The equations solved at given components by iteration.

    Attributes:
        components: the components.
        inverse: V^-1, flat blocks.
        b: race effects (lb), then coefficients.
        u: P y, shape (n,).
        score: of the restricted log-likelihood in log components, shape (4,).
        score_error: Monte Carlo standard error of the score, shape (4,).
        information: average information, shape (4, 4).
        variance: (races + q,) estimated diagonal of the inverse coefficient matrix.
        steps: conjugate-gradient steps of the longest solve.
    """

    components: Components
    inverse: Floats
    b: Floats
    u: Floats
    score: Floats
    score_error: Floats
    information: Floats
    variance: Floats
    steps: int


def random_signs(record: Record, probes: int, seed: int) -> Floats:
    """Return the random signs of one fit, shape (races + q, probes)."""
    return np.random.default_rng(seed).choice([-1.0, 1.0], size=(record.races + record.X.shape[1], probes))


def solve(record: Record, v: Components, signs: Floats) -> Iterated:
    """Solve the equations and their score at `v`.

    Args:
        record: the runs.
        v: the components.
        signs: (races + q, probes) random signs, the same at every call.
    """
    inverse, _ = records.inverses(record, v)
    diagonal = _diagonal(record, inverse)
    VY = records.times(record, inverse, record.y[:, None])
    B, steps = conjugate_gradients(record, inverse, diagonal, np.hstack([records.gather(record, VY), signs]))
    b, solved = B[:, 0], B[:, 1:]
    u = records.times(record, inverse, (record.y - records.spread(record, b[:, None])[:, 0])[:, None])[:, 0]
    traces, error = _traces(record, v, inverse, signs, solved)
    F = np.hstack(records.derivatives(record, v, u[:, None]))
    VF = records.times(record, inverse, F)
    CF, _ = conjugate_gradients(record, inverse, diagonal, records.gather(record, VF))
    PF = VF - records.times(record, inverse, records.spread(record, CF))
    shape = np.mean(signs * solved * diagonal[:, None], axis=1)
    return Iterated(
        v,
        inverse,
        b,
        u,
        0.5 * (F.T @ u - traces),
        0.5 * error,
        0.5 * F.T @ PF,
        _smoothed(shape, record.races) / diagonal,
        steps,
    )


def _smoothed(ratio: Floats, races: int) -> Floats:
    """Return how far the inverse exceeds the inverse diagonal: once for all races, by covariate, at least 1."""
    out = ratio.copy()
    out[:races] = ratio[:races].mean()
    return np.maximum(out, 1.0)


def _diagonal(record: Record, inverse: Floats) -> Floats:
    by_run = blocks.diagonal(record.start, record.block, inverse)
    races = np.bincount(record.race, by_run, record.races)
    covariates = (record.X * records.times(record, inverse, record.X)).sum(axis=0) + record.precision
    return np.concatenate([races, covariates])


def _traces(record: Record, v: Components, inverse: Floats, signs: Floats, solved: Floats) -> tuple[Floats, Floats]:
    """Return tr(P dV) for each component and its Monte Carlo standard error.

    tr(P dV) = tr(V^-1 dV) - tr(C T' V^-1 dV V^-1 T): the first exactly, the second from the signs.
    """
    left = records.times(record, inverse, records.spread(record, signs))
    right = records.times(record, inverse, records.spread(record, solved))
    samples = np.array([(right * D).sum(axis=0) for D in records.derivatives(record, v, left)])
    error = samples.std(axis=1, ddof=1) / np.sqrt(signs.shape[1])
    return records.block_traces(record, v, inverse) - samples.mean(axis=1), error


def conjugate_gradients(
    record: Record, inverse: Floats, diagonal: Floats, B: Floats, *, tolerance: float = 1e-6, most: int = 500
) -> tuple[Floats, int]:
    """Return C B and the number of steps, every column to a relative residual below `tolerance`."""
    Z = B / diagonal[:, None]
    R = B - _coefficients_times(record, inverse, Z)
    D = R / diagonal[:, None]
    P, rho = D.copy(), (R * D).sum(axis=0)
    goal = tolerance**2 * np.maximum((B * B / diagonal[:, None]).sum(axis=0), 1e-300)
    for step in range(1, most + 1):
        if np.all(rho <= goal):
            return Z, step
        Q = _coefficients_times(record, inverse, P)
        alpha = rho / np.maximum((P * Q).sum(axis=0), 1e-300)
        Z, R = Z + alpha * P, R - alpha * Q
        D = R / diagonal[:, None]
        new = (R * D).sum(axis=0)
        P, rho = D + new / np.maximum(rho, 1e-300) * P, new
    return Z, most


def _coefficients_times(record: Record, inverse: Floats, B: Floats) -> Floats:
    out = records.gather(record, records.times(record, inverse, records.spread(record, B)))
    out[record.races :] += record.precision[:, None] * B[record.races :]
    return out
