"""The inner factor's equations by a dense Cholesky factor: exactly, or in single precision on the way."""

from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import get_lapack_funcs

from upsides.errors import CannotFitError
from upsides.errors.wording import gettext as _
from upsides.ratings.crossed import kernels
from upsides.ratings.crossed.curvature import Probes, Spread
from upsides.ratings.crossed.equations import Scales
from upsides.ratings.crossed.iterative import IterativeReduced
from upsides.ratings.crossed.table import LEVELS, CrossedTable

Floats = NDArray[np.float64]
Matrix = NDArray[Any]  # of either precision
THREADS = 2


class ExactReduced:
    """S and its Cholesky factor L, in one (inner, inner) array that L^-1 later takes over."""

    def __init__(self, table: CrossedTable, s: Scales) -> None:
        self.table, self.s = table, s
        self._lower = _factor(table, s, np.float64)

    def solve(self, right: Floats) -> Floats:
        """Return `S^-1 right`, (inner, c)."""
        trtrs: Any = get_lapack_funcs("trtrs", (self._lower,))
        half, _ = trtrs(self._lower, right, lower=1)
        whole, _ = trtrs(self._lower, half, lower=1, trans=1)
        return np.ascontiguousarray(whole)

    def spread(self, probes: Probes, solved: tuple[Floats, ...]) -> Spread:
        """Return the diagonals of the inverse, exactly; `solve` cannot be used afterwards."""
        del probes, solved  # the probes' traces are not needed
        log_determinant = 2.0 * float(np.log(np.diag(self._lower)).sum())
        outer, inner = _inverse_diagonals(self.table, self.s, self._lower)
        del self._lower
        return Spread(log_determinant, outer, inner, float(outer.sum()), float(inner.sum()), np.zeros(3))


class SingleReduced(IterativeReduced):
    """As the iterative way, but with traces to six digits from a factor in single precision."""

    def spread(self, probes: Probes, solved: tuple[Floats, ...]) -> Spread:
        """Return the traces."""
        del probes, solved  # the probes' traces are not needed
        lower = _factor(self.table, self.s, np.float32)
        outer, inner = _inverse_diagonals(self.table, self.s, lower)
        return Spread(np.nan, outer, inner, float(outer.sum()), float(inner.sum()), np.zeros(3))


def _factor(table: CrossedTable, s: Scales, precision: type[np.floating[Any]]) -> Matrix:
    """Return the lower Cholesky factor of S."""
    size = s.inner_diagonal.size
    matrix = np.zeros((size, size), dtype=precision)
    kernels.subtract_pairs(table.start, table.inner, table.weight, s.pull, matrix)
    matrix[np.diag_indices(size)] += s.inner_diagonal
    potrf: Any = get_lapack_funcs("potrf", (matrix,))
    lower, failed = potrf(matrix.T, lower=1, clean=0, overwrite_a=1)
    if failed:
        raise CannotFitError(LEVELS, _("the equations are singular"), _("check y for copies of one figure"))
    return np.asarray(lower)


def _inverse_diagonals(table: CrossedTable, s: Scales, lower: Matrix) -> tuple[Floats, Floats]:
    """Return the diagonals (outer, inner) of C; `lower` is overwritten."""
    trtri: Any = get_lapack_funcs("trtri", (lower,))
    inverse, _ = trtri(lower, lower=1, overwrite_c=1)
    root = inverse.T
    inner = np.array([row[i:] @ row[i:] for i, row in enumerate(root)], dtype=np.float64)
    norms = np.empty(s.pull.size)
    bounds = np.linspace(0, norms.size, THREADS + 1).astype(int)

    def share(low: int, high: int) -> None:
        kernels.outer_norms(table.start[low : high + 1], table.inner, table.weight, root, norms[low:high])

    with ThreadPoolExecutor(THREADS) as pool:
        list(pool.map(share, bounds[:-1], bounds[1:]))
    return (1.0 + s.pull * norms) / s.outer_diagonal, inner
