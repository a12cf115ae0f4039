"""Compiled passes up and down a pedigree: one visit to each animal.

`sire` and `dam` (n) hold places, -1 where unknown; all but `generations` need parents before offspring.
"""

import numpy as np
from numba import njit
from numpy.typing import NDArray

Codes = NDArray[np.int32]
Mask = NDArray[np.bool_]
Floats = NDArray[np.float64]


@njit("void(i4[::1], i4[::1], i4[::1])", cache=True, nogil=True)
def generations(sire: Codes, dam: Codes, depth: Codes) -> None:
    """Write the longest line back to a founder; animals in loops and behind them keep -1."""
    n = sire.size
    first = np.full(n, -1, np.int32)  # chains of offspring, by sire and by dam
    next_by_sire, next_by_dam = np.full(n, -1, np.int32), np.full(n, -1, np.int32)
    first_by_dam = np.full(n, -1, np.int32)
    waiting = np.zeros(n, np.int8)
    queue = np.empty(n, np.int32)
    tail = 0
    for i in range(n):
        if sire[i] >= 0:
            next_by_sire[i], first[sire[i]] = first[sire[i]], i
            waiting[i] += 1
        if dam[i] >= 0:
            next_by_dam[i], first_by_dam[dam[i]] = first_by_dam[dam[i]], i
            waiting[i] += 1
        if waiting[i] == 0:
            depth[i] = 0
            queue[tail] = i
            tail += 1
    head = 0
    while head < tail:
        parent = queue[head]
        head += 1
        for side in range(2):
            child = first[parent] if side == 0 else first_by_dam[parent]
            while child >= 0:
                waiting[child] -= 1
                if waiting[child] == 0:
                    back = np.int32(-1)
                    if sire[child] >= 0:
                        back = depth[sire[child]]
                    if dam[child] >= 0:
                        back = max(back, depth[dam[child]])
                    depth[child] = back + 1
                    queue[tail] = child
                    tail += 1
                child = next_by_sire[child] if side == 0 else next_by_dam[child]


@njit("void(i4[::1], i4[::1], b1[::1])", cache=True, nogil=True)
def mark_ancestors(sire: Codes, dam: Codes, mask: Mask) -> None:
    """Spread the marks from offspring to parents."""
    for i in range(sire.size - 1, -1, -1):
        if mask[i]:
            if sire[i] >= 0:
                mask[sire[i]] = True
            if dam[i] >= 0:
                mask[dam[i]] = True


@njit("void(i4[::1], i4[::1], b1[::1])", cache=True, nogil=True)
def mark_descendants(sire: Codes, dam: Codes, mask: Mask) -> None:
    """Spread the marks from parents to offspring."""
    for i in range(sire.size):
        if (sire[i] >= 0 and mask[sire[i]]) or (dam[i] >= 0 and mask[dam[i]]):
            mask[i] = True


@njit("void(i4[::1], i4[::1], f8[:,::1])", cache=True, nogil=True)
def gather(sire: Codes, dam: Codes, values: Floats) -> None:
    """Turn `values` (n, c) into `T' values`: each animal's share goes to its parents, half to each."""
    for i in range(sire.size - 1, -1, -1):
        for c in range(values.shape[1]):
            half = 0.5 * values[i, c]
            if sire[i] >= 0:
                values[sire[i], c] += half
            if dam[i] >= 0:
                values[dam[i], c] += half


@njit("void(i4[::1], i4[::1], f8[:,::1])", cache=True, nogil=True)
def hand_down(sire: Codes, dam: Codes, values: Floats) -> None:
    """Turn `values` (n, c) into `T values`: each animal gets half of what each parent has, and its own."""
    for i in range(sire.size):
        for c in range(values.shape[1]):
            if sire[i] >= 0:
                values[i, c] += 0.5 * values[sire[i], c]
            if dam[i] >= 0:
                values[i, c] += 0.5 * values[dam[i], c]


@njit("void(i4[::1], i4[::1], i4[::1], f8[::1])", cache=True, nogil=True)
def depths(sire: Codes, dam: Codes, full: Codes, equivalent: Floats) -> None:
    """Write how many generations are known entirely, and the equivalent of complete generations."""
    for i in range(sire.size):
        s, d = sire[i], dam[i]
        full[i] = min(full[s], full[d]) + 1 if s >= 0 and d >= 0 else 0
        equivalent[i] = 0.0
        if s >= 0:
            equivalent[i] += 0.5 * (equivalent[s] + 1.0)
        if d >= 0:
            equivalent[i] += 0.5 * (equivalent[d] + 1.0)
