"""Compiled: the inbreeding of all progeny of a block of sires at once.

Animals here are the parents alone (p of them, parents before offspring); LANES sires go up and down together.
"""

import numpy as np
from numba import njit
from numpy.typing import NDArray

Codes = NDArray[np.int32]
Starts = NDArray[np.int64]
Floats = NDArray[np.float64]
Marks = NDArray[np.int8]
LANES = 8
"""Sires of a block: their values of one ancestor fill one line of a processor's cache."""


@njit("i8(i8, i8, i8[::1], i4[:,::1], f8[:,::1], i1[::1])", cache=True, nogil=True)
def _set_out(first: int, last: int, start: Starts, mating: Codes, value: Floats, mark: Marks) -> int:
    """Mark the sires of a block and their mates; return the youngest of them."""
    top = -1
    for g in range(first, last):
        s = mating[start[g], 0]
        value[s, g - first] = 1.0
        mark[s] |= 1
        top = max(top, s)
        for m in range(start[g], start[g + 1]):
            d = mating[m, 1]
            mark[d] |= 2
            top = max(top, d)
    return top


@njit("void(i8, i4[::1], i4[::1], f8[:,::1], i1[::1])", cache=True, nogil=True)
def _go_up(top: int, sire: Codes, dam: Codes, value: Floats, mark: Marks) -> None:
    """Hand marks and values on to parents: `T' e` for the sires of the block."""
    for i in range(top, -1, -1):
        here = mark[i]
        if here == 0:
            continue
        for parent in (sire[i], dam[i]):
            if parent >= 0:
                mark[parent] |= here
                if here & 1:
                    for c in range(LANES):
                        value[parent, c] += 0.5 * value[i, c]


@njit("void(i8, i4[::1], i4[::1], f8[::1], f8[:,::1], i1[::1])", cache=True, nogil=True)
def _go_down(top: int, sire: Codes, dam: Codes, known: Floats, value: Floats, mark: Marks) -> None:
    """Turn the values of all that lead to a mate into `T D T' e`."""
    for i in range(top + 1):
        here = mark[i]
        if here < 2:
            continue
        if here & 1:
            own = 1.0
            for parent in (sire[i], dam[i]):
                if parent >= 0:
                    own -= 0.25 * (1.0 + known[parent])
            for c in range(LANES):
                value[i, c] *= own
        for parent in (sire[i], dam[i]):
            if parent >= 0:
                for c in range(LANES):
                    value[i, c] += 0.5 * value[parent, c]


@njit("void(i8, f8[:,::1], i1[::1])", cache=True, nogil=True)
def _clear(top: int, value: Floats, mark: Marks) -> None:
    for i in range(top + 1):
        if mark[i]:
            mark[i] = 0
            value[i, :] = 0.0


@njit("void(i4[::1], i4[::1], i8[:,::1], i8[::1], i4[:,::1], i4[::1], f8[::1])", cache=True, nogil=True)
def inbreeding_of_groups(
    sire: Codes, dam: Codes, block: Starts, start: Starts, mating: Codes, child: Codes, out: Floats
) -> None:
    """Write F of every animal that has two known parents.

    Args:
        sire: (p,) sires of the parents themselves, and
        dam: (p,) their dams.
        block: (blocks, 2) first and last (exclusive) of at most LANES groups, the groups of the oldest sires
            first; no sire of a block descends from another.
        start: (groups + 1,) where the matings of each group's sire begin.
        mating: (matings, 3) sire, dam and child, by their places among the parents; -1 for a child that is none.
        child: (matings,) the child's place in `out`.
        out: (n,) F of all animals.
    """
    value = np.zeros((sire.size, LANES))
    mark = np.zeros(sire.size, np.int8)  # 1: ancestor of a sire, 2: of a mate, 3: of both
    known = np.zeros(sire.size)  # F of the parents; filled on the way, as each is somebody's child
    for b in range(block.shape[0]):
        first, last = block[b]
        top = _set_out(first, last, start, mating, value, mark)
        _go_up(top, sire, dam, value, mark)
        _go_down(top, sire, dam, known, value, mark)
        for g in range(first, last):
            for m in range(start[g], start[g + 1]):
                f = 0.5 * value[mating[m, 1], g - first]
                out[child[m]] = f
                if mating[m, 2] >= 0:
                    known[mating[m, 2]] = f
        _clear(top, value, mark)


@njit("void(i4[::1], i4[::1], f8[::1])", cache=True, nogil=True)
def inbreeding_by_tracing(sire: Codes, dam: Codes, out: Floats) -> None:
    """Write F of every animal by tracing the ancestors of each (Meuwissen & Luo 1992)."""
    n = sire.size
    share = np.zeros(n)
    own = np.ones(n)
    for i in range(n):
        if sire[i] >= 0:
            own[i] -= 0.25 * (1.0 + out[sire[i]])
        if dam[i] >= 0:
            own[i] -= 0.25 * (1.0 + out[dam[i]])
        if sire[i] < 0 or dam[i] < 0:
            out[i] = 0.0
            continue
        share[i] = 1.0
        total = 0.0
        for a in range(i, -1, -1):
            if share[a] == 0.0:
                continue
            if sire[a] >= 0:
                share[sire[a]] += 0.5 * share[a]
            if dam[a] >= 0:
                share[dam[a]] += 0.5 * share[a]
            total += share[a] * share[a] * own[a]
            share[a] = 0.0
        out[i] = total - 1.0
