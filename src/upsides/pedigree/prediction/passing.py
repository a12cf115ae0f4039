"""Compiled: what records say of each animal, handed along the pedigree until it settles.

Information (t, t) is the inverse of a variance. An offspring is half of each parent and its own Mendelian part, so
what is known of it from elsewhere reaches a parent through that part and the other parent's variance; and parents
reach offspring likewise. This is message passing on a Gaussian network (Weiss & Freeman 2001, Neural Computation
13:2173), exact where a pedigree has no loops of mates and relatives.
"""

import numpy as np
from numba import njit
from numpy.typing import NDArray

Codes = NDArray[np.int32]
Floats = NDArray[np.float64]


@njit("void(f8[:,::1], f8[:,::1])", cache=True, nogil=True)
def invert(a: Floats, out: Floats) -> None:
    """Write the inverse of a positive definite matrix by Gauss and Jordan; `a` is used up."""
    t = a.shape[0]
    for i in range(t):
        for j in range(t):
            out[i, j] = 1.0 if i == j else 0.0
    for i in range(t):
        pivot = 1.0 / a[i, i]
        for j in range(t):
            a[i, j] *= pivot
            out[i, j] *= pivot
        for k in range(t):
            if k != i:
                by = a[k, i]
                for j in range(t):
                    a[k, j] -= by * a[i, j]
                    out[k, j] -= by * out[i, j]


@njit("void(f8[:,::1], f8[:,::1], f8[:,::1], f8[:,:,::1])", cache=True, nogil=True)
def through(information: Floats, variance: Floats, out: Floats, room: Floats) -> None:
    """Write `(information^-1 + variance)^-1`, as `C - C (C + V^-1)^-1 C`; information may be nought."""
    t = information.shape[0]
    room[0] = variance
    invert(room[0], room[1])
    for i in range(t):
        for j in range(t):
            room[0, i, j] = room[1, i, j] + information[i, j]
    invert(room[0], room[1])
    for i in range(t):
        for j in range(t):
            total = 0.0
            for k in range(t):
                for m in range(t):
                    total += information[i, k] * room[1, k, m] * information[m, j]
            out[i, j] = information[i, j] - total


@njit("void(i4, f8, f8[:,::1], f8[:,:,::1], f8[:,::1], f8[:,:,::1])", cache=True, nogil=True)
def variance_beside(parent: int, share: float, genetic: Floats, total: Floats, told: Floats, room: Floats) -> None:
    """Write to `room[0]` an animal's Mendelian variance and a quarter of a parent's, as that is known elsewhere.

    `told` (t, t) is what the animal itself said of that parent (-1 where unknown); `room` (2, t, t).
    """
    t = genetic.shape[0]
    room[0, :, :] = 0.0
    if parent >= 0:
        for j in range(t):
            for k in range(t):
                room[1, j, k] = total[parent, j, k] - told[j, k]
        invert(room[1], room[0])
    for j in range(t):
        for k in range(t):
            room[0, j, k] = share * genetic[j, k] + 0.25 * room[0, j, k]


@njit("void(i8, f8[:,:,::1], f8[:,:,::1], f8[:,:,::1])", cache=True, nogil=True)
def hear(i: int, total: Floats, prior: Floats, room: Floats) -> None:
    """Take in what both parents say of an animal; `room[0]` and `room[2]` hold their sides' variances."""
    t = total.shape[1]
    for j in range(t):
        for k in range(t):
            room[4, j, k] = room[0, j, k] + room[2, j, k]
    invert(room[4], room[5])
    for j in range(t):
        for k in range(t):
            total[i, j, k] += room[5, j, k] - prior[i, j, k]
            prior[i, j, k] = room[5, j, k]


@njit("void(i8, i8, i4, f8[:,:,::1], f8[:,:,:,::1], f8[:,:,::1], f8[:,:,::1])", cache=True, nogil=True)
def tell(i: int, side: int, parent: int, total: Floats, told: Floats, prior: Floats, room: Floats) -> None:
    """Tell a parent what is known of its offspring from elsewhere; `room[0]` holds the variance between."""
    t = total.shape[1]
    for j in range(t):
        for k in range(t):
            room[4, j, k] = total[i, j, k] - prior[i, j, k]
    through(room[4], room[0], room[5], room[1:3])
    for j in range(t):
        for k in range(t):
            said = 0.25 * room[5, j, k]
            total[parent, j, k] += said - told[i, side, j, k]
            told[i, side, j, k] = said


@njit(
    "void(i8, i4[::1], i4[::1], f8, f8[:,::1], f8[:,:,::1], f8[:,:,:,::1], f8[:,:,::1], f8[:,:,::1])",
    cache=True,
    nogil=True,
)
def visit(
    i: int, sire: Codes, dam: Codes, share: float, genetic: Floats, total: Floats, told: Floats, prior: Floats,
    room: Floats,
) -> None:  # fmt: skip
    """Let an animal's parents speak to it, and it to its parents; `room` (6, t, t) is scratch."""
    s, d = sire[i], dam[i]
    if s < 0 and d < 0:
        return
    variance_beside(s, share, genetic, total, told[i, 0], room[0:2])
    variance_beside(d, 0.0, genetic, total, told[i, 1], room[2:4])
    hear(i, total, prior, room)
    if s >= 0:
        variance_beside(d, share, genetic, total, told[i, 1], room[0:2])
        tell(i, 0, s, total, told, prior, room)
    if d >= 0:
        variance_beside(s, share, genetic, total, told[i, 0], room[0:2])
        tell(i, 1, d, total, told, prior, room)


@njit("f8(i4[::1], i4[::1], f8[::1], f8[:,::1], f8[:,:,::1], f8[:,:,:,::1], f8[:,:,::1])", cache=True, nogil=True)
def sweep(sire: Codes, dam: Codes, share: Floats, genetic: Floats, total: Floats, told: Floats, prior: Floats) -> float:
    """Go once up and once down; return the largest relative change of an animal's information.

    Args:
        sire: (n,) and
        dam: (n,) the pedigree.
        share: (n,) Mendelian share of the genetic variance.
        genetic: (t, t) G.
        total: (n, t, t) information on each animal, prior and records and offspring together; changed.
        told: (n, 2, t, t) what each animal says of its sire and of its dam; changed.
        prior: (n, t, t) what its parents say of each animal; changed.
    """
    n, t = total.shape[0], genetic.shape[0]
    room = np.empty((6, t, t))
    for i in range(n - 1, -1, -1):
        visit(i, sire, dam, share[i], genetic, total, told, prior, room)
    change = 0.0
    for i in range(n):
        before = total[i, 0, 0]
        visit(i, sire, dam, share[i], genetic, total, told, prior, room)
        change = max(change, abs(total[i, 0, 0] - before) / before)
    return change
