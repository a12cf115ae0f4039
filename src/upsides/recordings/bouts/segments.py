"""Compiled: the most probable gaits of a stretch, and how probable, by a hidden semi-Markov model.

Each gait lasts a number of steps of its own distribution: never fewer than its least, and from then on it ends with
the same chance each step. The state is therefore the gait and its age in steps, up to the greatest least; the last age
means "that old or older". Within a gait the age grows; a new gait begins at age one. The expansion by age is exact for
such a distribution. The first gait of a stretch was under way before it, the last one may go on after it.
"""

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

NEVER = -1e300


@njit("void(f8[:,::1], i8[::1], f8[::1], f8[:,::1], i8[::1])", cache=True, nogil=True)
def most_probable(E: Floats, least: Ints, ends: Floats, A: Floats, path: Ints) -> None:
    """Write the most probable gait of each step (Viterbi).

    Args:
        E: (n, k) logarithms of how well each gait agrees with each step.
        least: (k,) least steps of each gait.
        ends: (k,) chance that a gait ends with a step, once it is old enough.
        A: (k, k) chance of the next gait given the last; 0 on the diagonal.
        path: (n,) written.
    """
    n, k = E.shape
    D = least.max()
    ending, staying, going = np.log(ends), np.log(1.0 - ends), np.log(np.maximum(A, 1e-300))
    V, began = np.full((k, D), NEVER), np.zeros((k, D), np.int64)
    came_from, came_began = np.zeros((n, k), np.int64), np.zeros((n, k), np.int64)
    leaving, left_began = np.empty(k), np.empty(k, np.int64)
    V[:, D - 1] = E[0]
    for t in range(1, n):
        for j in range(k):
            oldest = least[j] - 1
            for a in range(least[j], D):
                oldest = a if V[j, a] > V[j, oldest] else oldest
            leaving[j], left_began[j] = V[j, oldest] + ending[j], began[j, oldest]
        for j in range(k):
            old, since = V[j, D - 1] + staying[j], began[j, D - 1]
            for a in range(D - 1, 0, -1):
                V[j, a] = V[j, a - 1] + E[t, j] + (staying[j] if a >= least[j] else 0.0)
                began[j, a] = began[j, a - 1]
            if D == 1 or old + E[t, j] > V[j, D - 1]:
                V[j, D - 1], began[j, D - 1] = old + E[t, j], since
            fresh, best = NEVER, 0
            for i in range(k):
                if i != j and leaving[i] + going[i, j] > fresh:
                    fresh, best = leaving[i] + going[i, j], i
            if D > 1 or fresh + E[t, j] > V[j, 0]:
                V[j, 0], began[j, 0] = fresh + E[t, j], t
                came_from[t, j], came_began[t, j] = best, left_began[best]
    last = V.argmax()
    now, start, end = last // D, began[last // D, last % D], n
    while start > 0:
        path[start:end] = now
        end, now, start = start, came_from[start, now], came_began[start, now]
    path[:end] = now


@njit("f8[:,:,::1](f8[:,::1], i8[::1], f8[::1], f8[:,::1])", cache=True, nogil=True)
def forward(X: Floats, least: Ints, ends: Floats, A: Floats) -> Floats:
    """Return (n, k, ages) how probable each gait and age is at each step, given that step and those before it."""
    n, k = X.shape
    D = least.max()
    F = np.zeros((n, k, D))
    leaving = np.empty(k)
    F[0, :, D - 1] = X[0] / X[0].sum()
    for t in range(1, n):
        for j in range(k):
            leaving[j] = 0.0
            for a in range(least[j] - 1, D):
                leaving[j] += ends[j] * F[t - 1, j, a]
        total = 0.0
        for j in range(k):
            for i in range(k):
                F[t, j, 0] += leaving[i] * A[i, j]
            for a in range(1, D):
                F[t, j, a] = F[t - 1, j, a - 1] * ((1.0 - ends[j]) if a >= least[j] else 1.0)
            F[t, j, D - 1] += F[t - 1, j, D - 1] * (1.0 - ends[j])
            for a in range(D):
                F[t, j, a] *= X[t, j]
                total += F[t, j, a]
        for j in range(k):
            for a in range(D):
                F[t, j, a] /= total
    return F


@njit("void(f8[:,::1], i8[::1], f8[::1], f8[:,::1], i8[::1], f8[::1])", cache=True, nogil=True)
def how_probable(E: Floats, least: Ints, ends: Floats, A: Floats, path: Ints, sure: Floats) -> None:
    """Write how probable the gait of `path` is at each step, given everything (forward and backward).

    Args:
        E: as for `most_probable`, as are `least`, `ends` and `A`.
        least: see there.
        ends: see there.
        A: see there.
        path: (n,) the gait asked for at each step.
        sure: (n,) written, 0 to 1.
    """
    n, k = E.shape
    D = least.max()
    X = np.exp(E)
    F = forward(X, least, ends, A)
    B, after, begins = np.ones((k, D)), np.ones((k, D)), np.empty(k)
    for t in range(n - 1, -1, -1):
        asked, total = 0.0, 0.0
        for j in range(k):
            begins[j] = B[j, 0] * X[t, j]
            for a in range(D):
                total += F[t, j, a] * B[j, a]
                asked += F[t, j, a] * B[j, a] if j == path[t] else 0.0
        sure[t] = asked / total
        largest = 0.0
        for j in range(k):
            left = 0.0
            for i in range(k):
                left += ends[j] * A[j, i] * begins[i]
            for a in range(D):
                older = B[j, min(a + 1, D - 1)] * X[t, j]
                after[j, a] = (1.0 - ends[j]) * older + left if a + 1 >= least[j] else older
                largest = max(largest, after[j, a])
        for j in range(k):
            for a in range(D):
                B[j, a] = after[j, a] / largest
