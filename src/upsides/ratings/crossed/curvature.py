"""Traces and curvature of the likelihood from random probes of the inverse.

With C the inverse of the equations in scaled effects, the expected information in log variances needs only
the squared norms of C's blocks: `tr(P V_i P V_j)` is `|I - C_ii|^2` for i = j, else `|C_ij|^2`. A probe z of
+1 and -1 has mean `z'C z = tr C` and `|C z|^2 = |C|^2` (Hutchinson 1990, Comm Stat Simul 19:433).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.ratings.crossed.equations import Covariates, Reduced, Scales
from upsides.ratings.crossed.table import CrossedTable

Floats = NDArray[np.float64]
DENSE = 200  # up to so many levels in all, the probes are the unit vectors and nothing is random


@dataclass(frozen=True, slots=True)
class Probes:
    """Right-hand sides with which the inverse is probed.

    Attributes:
        outer: (outer, k) and
        inner: (inner, k) probes.
        exact: whether they are all the unit vectors, whose sums are exact; else means over random probes are
            taken.
    """

    outer: Floats
    inner: Floats
    exact: bool

    @property
    def shares(self) -> tuple[float, float]:
        """Return what to multiply a sum over (outer, inner) probes by to estimate a trace."""
        return (1.0, 1.0) if self.exact else (1.0 / self.outer.shape[1], 1.0 / self.inner.shape[1])


@dataclass(frozen=True, slots=True)
class Spread:
    """What the likelihood and the standard errors need of the inverse C, covariates left aside.

    Attributes:
        log_determinant: log |S|; not a number where nobody asked for it.
        outer, inner: diagonals of C; empty where nobody asked for them.
        outer_trace, inner_trace: their sums.
        noise: (3,) Monte Carlo variances of (log_determinant, outer_trace, inner_trace); zero when exact.
    """

    log_determinant: float
    outer: Floats
    inner: Floats
    outer_trace: float
    inner_trace: float
    noise: Floats


def draw_probes(table: CrossedTable, count: int, seed: int) -> Probes:
    """Return `count` random probes of each factor, or all unit vectors when there are few levels."""
    sizes = table.outer_weight.size, table.inner_weight.size
    if sum(sizes) <= DENSE:
        return Probes(np.eye(sizes[0]), np.eye(sizes[1]), exact=True)
    rng = np.random.default_rng(seed)
    outer, inner = (rng.choice(np.array([-1.0, 1.0]), (size, count)) for size in sizes)
    return Probes(outer, inner, exact=False)


def solve_probes(table: CrossedTable, s: Scales, reduced: Reduced, probes: Probes) -> tuple[Floats, ...]:
    """Return C times the probes: (outer from outer, inner from outer, outer from inner, inner from inner)."""
    k = probes.outer.shape[1]
    pulled = table.to_inner(probes.outer * (s.outer * s.inner / s.outer_diagonal)[:, None])
    inner = reduced.solve(np.hstack([-pulled, probes.inner]))
    outer = -s.outer * s.inner * table.to_outer(inner)
    outer[:, :k] += probes.outer
    outer /= s.outer_diagonal[:, None]
    return outer[:, :k], inner[:, :k], outer[:, k:], inner[:, k:]


def block_norms(probes: Probes, solved: tuple[Floats, ...], covariates: Covariates | None) -> Floats:
    """Return the squared norms of the blocks of I - C, (2, 2), the covariates included in C where given."""
    oo, io, oi, ii = solved
    if covariates is not None:
        inverse = np.linalg.inv(covariates.remaining)
        by_outer = inverse @ (covariates.outer.T @ probes.outer)
        by_inner = inverse @ (covariates.inner.T @ probes.inner)
        oo, io = oo + covariates.outer @ by_outer, io + covariates.inner @ by_outer
        oi, ii = oi + covariates.outer @ by_inner, ii + covariates.inner @ by_inner
    a, b = probes.shares
    cross = (a * (io**2).sum() + b * (oi**2).sum()) / 2
    outer, inner = ((probes.outer - oo) ** 2).sum(), ((probes.inner - ii) ** 2).sum()
    return np.array([[a * outer, cross], [cross, b * inner]])


def expected_information(told: Floats, norms: Floats) -> Floats:
    """Return the expected information in log variances (outer, inner, residual), (3, 3).

    Args:
        told: (3,) degrees of freedom that each variance accounts for, `tr(P V_i)`; 0 for a fixed factor.
        norms: (2, 2) squared norms of the blocks of I - C; 0 for a fixed factor.
    """
    whole = np.zeros((3, 3))
    whole[:2, :2] = norms
    whole[:2, 2] = whole[2, :2] = told[:2] - norms.sum(axis=1)
    whole[2, 2] = told[2] - whole[2, :2].sum()
    return whole / 2
