"""Compiled: many small matrices times many small matrices, animal by animal or record by record."""

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@njit("void(f8[:,:,::1], f8[:,:,::1], f8[:,:,::1])", cache=True, nogil=True)
def _times(blocks: Floats, values: Floats, out: Floats) -> None:
    for i in range(values.shape[0]):
        b = i if blocks.shape[0] > 1 else 0
        for j in range(values.shape[1]):
            for c in range(values.shape[2]):
                out[i, j, c] = 0.0
            for k in range(values.shape[1]):
                for c in range(values.shape[2]):
                    out[i, j, c] += blocks[b, j, k] * values[i, k, c]


@njit("void(f8[:,:,::1], f8[:,:,::1], f8[::1])", cache=True, nogil=True)
def add_inner(one: Floats, other: Floats, out: Floats) -> None:
    """Add to `out` (c,) the inner products of the columns of two (n, t, c)."""
    for i in range(one.shape[0]):
        for j in range(one.shape[1]):
            for c in range(one.shape[2]):
                out[c] += one[i, j, c] * other[i, j, c]


def times_blocks(blocks: Floats, values: Floats) -> Floats:
    """Return each block (n, t, t), or one block (1, t, t) for all, times its values (n, t, c)."""
    out = np.empty_like(values)
    _times(np.ascontiguousarray(blocks), np.ascontiguousarray(values), out)
    return out
