"""From solved equations to what is asked: the evidence of each run, a horse's level on any day with its error."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.ratings.levels import blocks, exact, iterative
from upsides.ratings.levels import record as records
from upsides.ratings.levels.record import Components, Record

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Posterior:
    """What the runs say at given components.

    Attributes:
        components: the components.
        inverse: V^-1, flat blocks.
        b: race effects (lb), then coefficients.
        u: P y, shape (n,).
        precision: (n,) diagonal of P.
        C: inverse coefficient matrix; only its diagonal, shape (races + q,), where solved by iteration.
    """

    components: Components
    inverse: Floats
    b: Floats
    u: Floats
    precision: Floats
    C: Floats

    def covariance(self, rows: Ints, columns: Ints) -> Floats:
        """Return the covariance of the errors of two sets of effects, shape (rows, columns)."""
        if self.C.ndim == 2:
            return np.asarray(self.C[np.ix_(rows, columns)])
        return np.where(rows[:, None] == columns[None, :], self.C[rows][:, None], 0.0)


@dataclass(frozen=True, slots=True)
class Level:
    """Posterior mean and standard deviation, lb, each of shape (days,)."""

    mean: Floats
    sd: Floats


def posterior(record: Record, v: Components, *, exact_below: int, probes: int = 32, seed: int = 0) -> Posterior:
    """Solve at `v`: exactly up to `exact_below` races, above it by iteration.

    The approximation keeps the diagonal of the inverse only; a horse's races are then taken as
    independently known.
    """
    if record.races <= exact_below:
        s = exact.solve(record, v)
        P = exact.projected(record, s)
        return Posterior(v, s.inverse, s.b, s.u, blocks.diagonal(record.start, record.block, P), s.C)
    it = iterative.solve(record, v, iterative.random_signs(record, probes, seed))
    VV = blocks.diagonal(record.start, record.block, it.inverse)
    precision = VV - _paid_for_races(record, it)
    return Posterior(v, it.inverse, it.b, it.u, np.maximum(precision, 0.05 * VV), it.variance)


def _paid_for_races(record: Record, it: iterative.Iterated) -> Floats:
    """Return the diagonal of V^-1 T diag(C) T' V^-1, covariates left out, shape (n,)."""
    return records.times(record, it.inverse**2, it.variance[record.race][:, None])[:, 0]


def expectation(record: Record, p: Posterior) -> tuple[Floats, Floats]:
    """Return what all other runs expect of each run (lb), and the variance of that expectation (lb^2).

    The expectation is of y with its race's effect, so it needs nothing from the run itself: y - u / P_jj,
    with variance 1 / P_jj less the run's own error. Source: leave-one-out identities (Craven & Wahba 1979).
    """
    variance = 1.0 / p.precision - records.noise(record, p.components)
    return record.y - p.u / p.precision, np.maximum(variance, 1e-3)


def level(record: Record, p: Posterior, horse: int, days: Floats) -> Level:
    """Return one horse's level on `days`, covariates included, its error paying for every estimated effect."""
    rows = slice(int(record.start[horse]), int(record.start[horse + 1]))
    n, x, v = rows.stop - rows.start, record.of_horse(horse), p.components
    gap = np.abs(days[:, None] - record.day[rows])
    K = v.lasting + v.passing * np.exp(-gap / v.tau)
    W = K @ p.inverse[record.block[horse] : record.block[horse + 1]].reshape(n, n)
    at = record.race[rows]
    q = np.arange(record.races, record.races + x.size)
    D = x - W @ record.X[rows]
    variance = v.lasting + v.passing - (W * K).sum(axis=1)
    variance += ((W @ p.covariance(at, at)) * W).sum(axis=1)
    variance += ((D @ p.covariance(q, q)) * D).sum(axis=1) - 2.0 * ((W @ p.covariance(at, q)) * D).sum(axis=1)
    mean = x @ p.b[record.races :] + K @ p.u[rows]
    return Level(np.asarray(mean), np.sqrt(np.maximum(variance, 0.0)))


@dataclass(frozen=True, slots=True)
class Joint:
    """Levels of several horses on one day: mean (horses,), lb, and covariance (horses, horses), lb^2."""

    mean: Floats
    covariance: Floats


def joint(record: Record, p: Posterior, horses: Ints, day: float) -> Joint:
    """Return the joint posterior of several horses' levels on a day: what they share is how well their races are known.

    Args:
        record: the runs.
        p: the solution.
        horses: (k,) horses, each once.
        day: the day.
    """
    effects = record.races + record.X.shape[1]
    D = np.zeros((horses.size, effects))
    mean, own = np.empty(horses.size), np.empty(horses.size)
    for row, horse in enumerate(horses):
        rows = slice(int(record.start[horse]), int(record.start[horse + 1]))
        n, x, v = rows.stop - rows.start, record.of_horse(int(horse)), p.components
        k = v.lasting + v.passing * np.exp(-np.abs(day - record.day[rows]) / v.tau)
        w = p.inverse[record.block[horse] : record.block[horse + 1]].reshape(n, n) @ k
        np.subtract.at(D[row], record.race[rows], w)
        D[row, record.races :] = x - record.X[rows].T @ w
        mean[row] = x @ p.b[record.races :] + k @ p.u[rows]
        own[row] = v.lasting + v.passing - k @ w
    used = np.flatnonzero(D.any(axis=0))
    shared = D[:, used] @ p.covariance(used, used) @ D[:, used].T
    return Joint(mean, np.diag(own) + shared)
