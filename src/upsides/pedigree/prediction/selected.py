"""Compiled: the elements of an inverse that lie where its sparse factor has any.

A symmetric matrix is factored as L D L' row by row (Davis 2005, ACM Trans Math Softw 31:587), and the inverse's
elements in the pattern of L follow from the last column to the first (Takahashi, Fagan & Chen 1973; Misztal &
Perez-Enciso 1993, J Dairy Sci 76:1479, for genetic evaluation): `Z = D^-1 - (L' - 1) Z`. The upper triangle of the
matrix is given by columns: `start` (n + 1,), `row`, `value`.
"""

import numpy as np
from numba import njit
from numpy.typing import NDArray

Starts = NDArray[np.int64]
Codes = NDArray[np.int32]
Floats = NDArray[np.float64]


@njit("void(i8[::1], i4[::1], i8[::1], i8[::1])", cache=True, nogil=True)
def count_columns(start: Starts, row: Codes, parent: Starts, count: Starts) -> None:
    """Write the elimination tree (-1 for a root) and how many elements each column of L has below its diagonal."""
    n = start.size - 1
    seen = np.full(n, -1, np.int64)
    for k in range(n):
        parent[k] = -1
        count[k] = 0
        seen[k] = k
        for p in range(start[k], start[k + 1]):
            i = np.int64(row[p])
            while i < k and seen[i] != k:
                if parent[i] < 0:
                    parent[i] = k
                count[i] += 1
                seen[i] = k
                i = parent[i]


@njit("i8(i8[::1], i4[::1], f8[::1], i8[::1], i8[::1], i4[::1], f8[::1], f8[::1])", cache=True, nogil=True)
def factor(
    start: Starts, row: Codes, value: Floats, parent: Starts, begin: Starts, below: Codes, lower: Floats,
    diagonal: Floats,
) -> int:  # fmt: skip
    """Write L (columns from `begin`, rows in `below`, values in `lower`) and D; return the first bad pivot or -1."""
    n = start.size - 1
    filled = begin[:-1].copy()
    work = np.zeros(n)
    seen = np.full(n, -1, np.int64)
    path, order = np.empty(n, np.int64), np.empty(n, np.int64)
    for k in range(n):
        top = n
        seen[k] = k
        for p in range(start[k], start[k + 1]):
            i = np.int64(row[p])
            work[i] += value[p]
            length = 0
            while i < k and seen[i] != k:
                path[length] = i
                length += 1
                seen[i] = k
                i = parent[i]
            while length > 0:
                top -= 1
                length -= 1
                order[top] = path[length]
        pivot = work[k]
        work[k] = 0.0
        for place in range(top, n):
            i = order[place]
            here = work[i]
            work[i] = 0.0
            for p in range(begin[i], filled[i]):
                work[below[p]] -= lower[p] * here
            ratio = here / diagonal[i]
            pivot -= ratio * here
            below[filled[i]] = k
            lower[filled[i]] = ratio
            filled[i] += 1
        diagonal[k] = pivot
        if not pivot > 0.0:
            return k
    return -1


@njit("void(i8[::1], i4[::1], f8[::1], f8[::1], f8[::1], f8[::1])", cache=True, nogil=True)
def invert_selected(
    begin: Starts, below: Codes, lower: Floats, diagonal: Floats, inverse: Floats, on_diagonal: Floats
) -> None:
    """Write the inverse's elements where L has any (`inverse`) and on the diagonal (`on_diagonal`)."""
    n = diagonal.size
    total, weight = np.zeros(n), np.zeros(n)
    inside = np.zeros(n, np.bool_)
    for j in range(n - 1, -1, -1):
        for p in range(begin[j], begin[j + 1]):
            inside[below[p]] = True
            weight[below[p]] = lower[p]
            total[below[p]] = 0.0
        for p in range(begin[j], begin[j + 1]):
            k = below[p]
            total[k] += on_diagonal[k] * weight[k]
            for q in range(begin[k], begin[k + 1]):
                i = below[q]
                if inside[i]:
                    total[i] += inverse[q] * weight[k]
                    total[k] += inverse[q] * weight[i]
        own = 1.0 / diagonal[j]
        for p in range(begin[j], begin[j + 1]):
            inverse[p] = -total[below[p]]
            own += lower[p] * total[below[p]]
            inside[below[p]] = False
        on_diagonal[j] = own


@njit("void(i8[::1], i4[::1], f8[::1], f8[::1], i8[:,::1], f8[:,:,::1])", cache=True, nogil=True)
def pick_blocks(begin: Starts, below: Codes, inverse: Floats, on_diagonal: Floats, where: Starts, out: Floats) -> None:
    """Write the inverse's blocks (b, t, t) of unknowns that belong together; `where` (b, t) their places."""
    for b in range(where.shape[0]):
        for i in range(where.shape[1]):
            for j in range(where.shape[1]):
                one, other = min(where[b, i], where[b, j]), max(where[b, i], where[b, j])
                if one == other:
                    out[b, i, j] = on_diagonal[one]
                    continue
                low, high = begin[one], begin[one + 1]
                while low < high:
                    middle = (low + high) // 2
                    if below[middle] < other:
                        low = middle + 1
                    else:
                        high = middle
                out[b, i, j] = inverse[low]
