"""Levels that move in time: a run is its race, what is known of the horse beforehand, and its level that day.

    y_ij = race_j + x_i' beta + level_i(t_j) + e_ij,    e_ij ~ N(0, residual * scale_ij + extra_ij)

y is weight carried less what the horse was beaten by, in pounds. Race effects are fixed: horses are not
allotted to races at random, so a race's level may not be assumed unrelated to its runners'. Columns of X
describe horses and may carry a prior precision (partial pooling). Horses are integrated out exactly, one
small block each, which leaves equations in the races.

Source: Henderson's mixed-model equations with record covariance V (Searle, Casella & McCulloch 1992, ch. 7).
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from upsides.ratings.levels import blocks

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Record:
    """Runs sorted by horse, then day.

    Attributes:
        y: (n,) performance before the race's level is known, lb.
        race: (n,) race of each run, 0 to races - 1.
        day: (n,) day of the run, days from any origin.
        start: (horses + 1,) first run of each horse; every horse has at least one.
        scale: (n,) error variance as a multiple of `residual`.
        extra: (n,) known error variance added to it, lb^2.
        X: (n, q) covariates: of the run first (`run_covariates` of them), then of the horse, the same in each run.
        precision: (q,) prior precision of each coefficient, 0 for none, lb^-2.
        races: number of races.
        run_covariates: leading columns of X that belong to the run, not to the horse's level.
    """

    y: Floats
    race: Ints
    day: Floats
    start: Ints
    scale: Floats
    extra: Floats
    X: Floats
    precision: Floats
    races: int
    run_covariates: int = 0

    @property
    def block(self) -> Ints:
        """Where each horse's square block begins, shape (horses + 1,)."""
        return blocks.block_offsets(self.start)

    @property
    def horse(self) -> Ints:
        """Horse of each run, shape (n,)."""
        return np.repeat(np.arange(self.start.size - 1), np.diff(self.start))

    def of_horse(self, horse: int) -> Floats:
        """Return the covariates of a horse's level, shape (q,): its own, with nothing for those of a run."""
        x = np.array(self.X[self.start[horse]], dtype=np.float64)
        x[: self.run_covariates] = 0.0
        return x

    def with_evidence(self, y: Floats, extra: Floats) -> "Record":
        """Return the same runs with other performances and known error variances."""
        return replace(self, y=y, extra=extra)


@dataclass(frozen=True, slots=True)
class Components:
    """Variance components: lasting, passing and residual in lb^2, tau in days."""

    lasting: float
    passing: float
    tau: float
    residual: float

    def moved(self, log_step: Floats) -> "Components":
        """Return the components after a step in their logarithms, in the order of the fields."""
        values = np.array([self.lasting, self.passing, self.tau, self.residual]) * np.exp(log_step)
        return Components(*(float(value) for value in values))


def noise(record: Record, v: Components) -> Floats:
    """Return the error variance of each run, shape (n,)."""
    return v.residual * record.scale + record.extra


def inverses(record: Record, v: Components) -> tuple[Floats, float]:
    """Return the inverses of the horses' covariances, flat, and the sum of their log determinants."""
    return blocks.inverse_blocks(record.start, record.block, record.day, noise(record, v), v.lasting, v.passing, v.tau)


def times(record: Record, flat: Floats, F: Floats) -> Floats:
    """Return the block-diagonal matrix held in `flat` times F, shape (n, columns)."""
    return blocks.multiply(record.start, record.block, flat, np.ascontiguousarray(F))


def spread(record: Record, B: Floats) -> Floats:
    """Return T B, T = [E, X]: effects of races and covariates carried to the runs, shape (n, columns)."""
    return np.asarray(B[record.race] + record.X @ B[record.races :])


def gather(record: Record, F: Floats) -> Floats:
    """Return T' F: runs summed by race and against the covariates, shape (races + q, columns)."""
    by_race = np.stack([np.bincount(record.race, column, record.races) for column in F.T], axis=1)
    return np.vstack([by_race, record.X.T @ F])


def derivatives(record: Record, v: Components, F: Floats) -> list[Floats]:
    """Return dV/dlog(component) times F for lasting, passing, tau and residual, each the shape of F."""
    K, dK = blocks.passing_blocks(record.start, record.block, record.day, v.passing, v.tau)
    return [
        v.lasting * blocks.horse_sums(record.start, F),
        times(record, K, F),
        times(record, dK, F),
        (v.residual * record.scale)[:, None] * F,
    ]


def block_traces(record: Record, v: Components, flat: Floats) -> Floats:
    """Return the traces of a block-diagonal matrix times dV/dlog(component), shape (4,)."""
    K, dK = blocks.passing_blocks(record.start, record.block, record.day, v.passing, v.tau)
    residual = blocks.diagonal(record.start, record.block, flat) @ (v.residual * record.scale)
    return np.array([v.lasting * flat.sum(), flat @ K, flat @ dK, residual])
