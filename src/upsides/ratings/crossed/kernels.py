"""Compiled sums over the runs of a crossed table: one pass each, runs sorted by the outer factor.

In every kernel `start` (outer levels + 1) marks where each outer level's runs begin, `inner` is each run's
inner level and `weight` its weight, so that `B[o, i]` (the weight with which outer level `o` meets inner
level `i`) is never stored.
"""

from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Codes = NDArray[np.int32]
Starts = NDArray[np.int64]
Matrix = NDArray[Any]  # of either precision
PAIRS = [f"void(i8[::1], i4[::1], f8[::1], f8[::1], {f}[:,::1])" for f in ("f8", "f4")]
NORMS = [f"void(i8[::1], i4[::1], f8[::1], {f}[:,::1], f8[::1])" for f in ("f8", "f4")]


@njit("void(i8[::1], i4[::1], f8[::1], f8[:,::1], f8[:,::1])", cache=True, nogil=True)
def to_outer(start: Starts, inner: Codes, weight: Floats, values: Floats, out: Floats) -> None:
    """Write `B values` into `out` (outer levels, columns)."""
    for o in range(start.size - 1):
        out[o, :] = 0.0
        for run in range(start[o], start[o + 1]):
            for c in range(values.shape[1]):
                out[o, c] += weight[run] * values[inner[run], c]


@njit("void(i8[::1], i4[::1], f8[::1], f8[:,::1], f8[:,::1])", cache=True, nogil=True)
def to_inner(start: Starts, inner: Codes, weight: Floats, values: Floats, out: Floats) -> None:
    """Write `B' values` into `out` (inner levels, columns)."""
    out[:, :] = 0.0
    for o in range(start.size - 1):
        for run in range(start[o], start[o + 1]):
            for c in range(values.shape[1]):
                out[inner[run], c] += weight[run] * values[o, c]


@njit("void(i8[::1], i4[::1], f8[::1], f8[::1], f8[::1], f8[:,::1], f8[:,::1])", cache=True, nogil=True)
def reduced_times(
    start: Starts, inner: Codes, weight: Floats, pull: Floats, diagonal: Floats, values: Floats, out: Floats
) -> None:
    """Write `(diag(diagonal) - B' diag(pull) B) values` into `out` (inner levels, columns)."""
    columns = values.shape[1]
    total = np.empty(columns)
    for i in range(diagonal.size):
        for c in range(columns):
            out[i, c] = diagonal[i] * values[i, c]
    for o in range(start.size - 1):
        total[:] = 0.0
        for run in range(start[o], start[o + 1]):
            for c in range(columns):
                total[c] += weight[run] * values[inner[run], c]
        for c in range(columns):
            total[c] *= pull[o]
        for run in range(start[o], start[o + 1]):
            for c in range(columns):
                out[inner[run], c] -= weight[run] * total[c]


@njit(PAIRS, cache=True, nogil=True)
def subtract_pairs(start: Starts, inner: Codes, weight: Floats, pull: Floats, matrix: Matrix) -> None:
    """Subtract the upper triangle of `B' diag(pull) B`; runs of a level are sorted by `inner`."""
    for o in range(start.size - 1):
        for a in range(start[o], start[o + 1]):
            scaled = pull[o] * weight[a]
            for b in range(a, start[o + 1]):
                matrix[inner[a], inner[b]] -= scaled * weight[b]
                if a != b and inner[a] == inner[b]:
                    matrix[inner[a], inner[b]] -= scaled * weight[b]


@njit("void(i8[::1], i4[::1], f8[::1], f8[::1], f8[::1])", cache=True, nogil=True)
def pair_diagonal(start: Starts, inner: Codes, weight: Floats, pull: Floats, out: Floats) -> None:
    """Add the diagonal of `B' diag(pull) B` to `out`; runs of a level are sorted by `inner`."""
    for o in range(start.size - 1):
        run = start[o]
        while run < start[o + 1]:
            together = 0.0
            level = inner[run]
            while run < start[o + 1] and inner[run] == level:
                together += weight[run]
                run += 1
            out[level] += pull[o] * together * together


@njit(NORMS, cache=True, nogil=True)
def outer_norms(start: Starts, inner: Codes, weight: Floats, root: Matrix, out: Floats) -> None:
    """Write `|R b|^2` for each row `b` of B; `root` is the transpose of the lower triangular R."""
    size = root.shape[0]
    total = np.empty(size, dtype=root.dtype)
    for o in range(start.size - 1):
        out[o] = 0.0
        if start[o] == start[o + 1]:
            continue
        low = inner[start[o]]
        total[low:] = 0.0
        for run in range(start[o], start[o + 1]):
            for c in range(inner[run], size):
                total[c] += weight[run] * root[inner[run], c]
        for c in range(low, size):
            out[o] += total[c] * total[c]


@njit("void(f8[:,::1], f8[:,::1], f8[:,::1], f8[:,::1], f8[::1], f8[::1], f8[::1])", cache=True, nogil=True)
def advance(x: Floats, r: Floats, p: Floats, q: Floats, inverse: Floats, alpha: Floats, norm: Floats) -> None:
    """Step `x += p alpha`, `r -= q alpha` and write each column's `r' diag(inverse) r` into `norm`."""
    norm[:] = 0.0
    for i in range(x.shape[0]):
        for c in range(x.shape[1]):
            x[i, c] += p[i, c] * alpha[c]
            r[i, c] -= q[i, c] * alpha[c]
            norm[c] += r[i, c] * r[i, c] * inverse[i]


@njit("void(f8[:,::1], f8[:,::1], f8[::1], f8[::1])", cache=True, nogil=True)
def redirect(p: Floats, r: Floats, inverse: Floats, beta: Floats) -> None:
    """Turn the directions: `p = diag(inverse) r + p beta`."""
    for i in range(p.shape[0]):
        for c in range(p.shape[1]):
            p[i, c] = r[i, c] * inverse[i] + p[i, c] * beta[c]


@njit(
    "void(i8[::1], i4[::1], f8[::1], f8, f8, f8, f8, i8, f8[::1], f8[::1])",
    cache=True,
    nogil=True,
    error_model="numpy",
)
def pass_messages(
    start: Starts, inner: Codes, weight: Floats, t_o: float, t_i: float, d_o: float, d_i: float, sweeps: int,
    outer_precision: Floats, inner_precision: Floats,
) -> None:  # fmt: skip
    """Write each level's precision, each run weighing by how well its other level is known.

    Gaussian belief propagation on the graph of levels and runs (Weiss & Freeman 2001, Neural Computation
    13:2173): exact on a tree, a close lower bound of the variance where levels meet again and again.
    """
    told = np.zeros(inner.size)
    to_outer = np.zeros(inner.size)
    known = np.zeros(inner_precision.size)
    for _ in range(sweeps):
        inner_precision[:] = d_i
        for o in range(start.size - 1):
            outer_precision[o] = d_o
            for run in range(start[o], start[o + 1]):
                apart = d_i + known[inner[run]] - told[run]
                to_outer[run] = t_o * t_o / (1.0 / weight[run] + t_i * t_i / apart)
                outer_precision[o] += to_outer[run]
            for run in range(start[o], start[o + 1]):
                apart = outer_precision[o] - to_outer[run]
                told[run] = t_i * t_i / (1.0 / weight[run] + t_o * t_o / apart)
                inner_precision[inner[run]] += told[run]
        for i in range(known.size):
            known[i] = inner_precision[i] - d_i
