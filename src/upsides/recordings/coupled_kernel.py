"""Compiled: the same motion on both axes at once, where the receiver's own speed ties them together.

The speed s = |v| is measured along the direction of travel h, taken from an earlier pass: |v| = h v to first order
about that pass's velocity, whose own length cancels. This is a step of Gauss and Newton towards the most probable path
(Bell 1994, SIAM Journal on Optimization 4:626). Where no direction can be told, a small s says that both components of
the velocity lie about 0, with variance s^2 / 2 and the speed's own added.

State: east, its speed, north, its speed. Measurements are taken one scalar at a time; the backward pass is that of
Rauch, Tung and Striebel with the foretold covariance factored by Cholesky.
"""

import numpy as np
from numba import njit
from numpy.typing import NDArray

from upsides.recordings.axes_kernel import MOST_REFUSED
from upsides.recordings.excursions import SHARP_MS2

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]


@njit(inline="always")
def _take_one(P: Floats, x: Floats, i: int, off: float, variance: float) -> None:
    """Take in a measurement of x_i that is `off` what was foretold, in place; P_i shrinks by a factor."""
    g = (P[i, 0], P[i, 1], P[i, 2], P[i, 3])
    total = 1.0 / (g[i] + variance)
    for r in range(4):
        x[r] += g[r] * total * off
        for s in range(r, 4):
            value = P[r, s] * variance * total if i in (r, s) else P[r, s] - g[r] * g[s] * total
            P[r, s] = P[s, r] = value


@njit(inline="always")
def _take_speed(P: Floats, x: Floats, he: float, hn: float, speed: float, variance: float) -> None:
    """Take in a measurement of he x_1 + hn x_3, in place."""
    g = (
        he * P[0, 1] + hn * P[0, 3],
        he * P[1, 1] + hn * P[1, 3],
        he * P[2, 1] + hn * P[2, 3],
        he * P[3, 1] + hn * P[3, 3],
    )
    total = 1.0 / (he * g[1] + hn * g[3] + variance)
    off = speed - he * x[1] - hn * x[3]
    for r in range(4):
        x[r] += g[r] * total * off
        for s in range(r, 4):
            P[r, s] -= g[r] * g[s] * total
            P[s, r] = P[r, s]


@njit(inline="always")
def _step(P: Floats, d: float, q: float) -> None:
    """Foretell the covariance a step of `d` seconds on, in place."""
    for r in range(0, 4, 2):
        for s in range(4):
            P[r, s] += d * P[r + 1, s]
    for s in range(0, 4, 2):
        for r in range(4):
            P[r, s] += d * P[r, s + 1]
    for r in range(0, 4, 2):
        P[r, r] += q * d**3 / 3
        P[r, r + 1] += q * d * d / 2
        P[r + 1, r] += q * d * d / 2
        P[r + 1, r + 1] += q * d


@njit(inline="always")
def _solve(A: Floats, B: Floats) -> None:
    """Replace B by A^-1 B, A positive and symmetric; A is overwritten by its factor, the diagonal turned over."""
    for i in range(4):
        for j in range(i + 1):
            total = A[i, j]
            for k in range(j):
                total -= A[i, k] * A[j, k]
            A[i, j] = 1 / np.sqrt(total) if i == j else total * A[j, j]
    for i in range(4):
        for column in range(4):
            total = B[i, column]
            for k in range(i):
                total -= A[i, k] * B[k, column]
            B[i, column] = total * A[i, i]
    for i in range(3, -1, -1):
        for column in range(4):
            total = B[i, column]
            for k in range(i + 1, 4):
                total -= A[k, i] * B[k, column]
            B[i, column] = total * A[i, i]


@njit(inline="always")
def _gain(P: Floats, d: float, q: float, ahead: Floats, factor: Floats, G: Floats) -> None:
    """Write the covariance foretold into `ahead` and the smoother's gain, turned over, into `G`."""
    for s in range(4):  # F P
        G[0, s], G[1, s] = P[0, s] + d * P[1, s], P[1, s]
        G[2, s], G[3, s] = P[2, s] + d * P[3, s], P[3, s]
    ahead[:] = P
    _step(ahead, d, q)
    factor[:] = ahead
    _solve(factor, G)


@njit(inline="always")
def _spread_back(later: Floats, ahead: Floats, G: Floats, D: Floats, P: Floats) -> None:
    """Add G' (later - ahead) G to P, in place."""
    for r in range(4):
        for s in range(4):
            total = 0.0
            for i in range(4):
                total += (later[r, i] - ahead[r, i]) * G[i, s]
            D[r, s] = total
    for r in range(4):
        for s in range(r, 4):
            total = 0.0
            for i in range(4):
                total += G[i, r] * D[i, s]
            P[r, s] += total
            P[s, r] = P[r, s]


@njit("void(f8[::1], b1[::1], f8, f8[:,::1], f8[:,:,::1])", cache=True, nogil=True, error_model="numpy")
def _backward(step: Floats, first: Flags, q: float, state: Floats, covariance: Floats) -> None:
    """Turn filtered states into smoothed ones, in place."""
    ahead, factor, G, D = np.zeros((4, 4)), np.zeros((4, 4)), np.zeros((4, 4)), np.zeros((4, 4))
    off = np.zeros(4)
    for k in range(step.size - 2, -1, -1):
        if first[k + 1]:
            continue
        d, P = step[k + 1], covariance[k]
        _gain(P, d, q, ahead, factor, G)
        for r in range(4):
            off[r] = state[k + 1, r] - state[k, r]
        off[0] -= d * state[k, 1]
        off[2] -= d * state[k, 3]
        for r in range(4):
            for i in range(4):
                state[k, r] += G[i, r] * off[i]
        _spread_back(covariance[k + 1], ahead, G, D, P)


@njit(
    "void(f8[::1], b1[::1], f8[:,::1], f8[::1], f8[:,::1], f8, f8[::1], f8, f8[:,::1], f8[:,:,::1], b1[::1])",
    cache=True,
    error_model="numpy",
    nogil=True,
)
def smooth(
    step: Floats, first: Flags, place: Floats, variance: Floats, speed: Floats,
    q: float, prior: Floats, gate: float, state: Floats, covariance: Floats, used: Flags,
) -> None:  # fmt: skip
    """Write the smoothed states and their covariances.

    Args:
        step: (n,) seconds since the moment before.
        first: (n,) where a stretch begins; each begins with a measured place.
        place: (n, 2) measured places, NaN where not measured.
        variance: (n,) of a place on each axis.
        speed: (n, 4) the receiver's speed, the direction of travel east and north, the variance of the speed; the
            speed NaN where not used, the direction (0, 0) where it cannot be told.
        q: spectral density of the acceleration, m^2/s^3.
        prior: at the first place of a stretch: variance of place and of speed, mean speed on each axis.
        gate: a place further off than this (squared, in variances, both axes together), what a sharp change of speed
            could have done taken off, is not used.
        state: (n, 4) written.
        covariance: (n, 4, 4) written.
        used: (n,) written: which places were used.
    """
    P, x = np.zeros((4, 4)), np.zeros(4)
    refused, since = 0, 0.0
    for k in range(step.size):
        since += step[k]
        if first[k]:
            P[:] = 0.0
            P[0, 0], P[1, 1], P[2, 2], P[3, 3] = prior[0], prior[1], prior[0], prior[1]
            x[0], x[1], x[2], x[3] = place[k, 0], prior[2], place[k, 1], prior[3]
            refused = 0
        else:
            x[0] += step[k] * x[1]
            x[2] += step[k] * x[3]
            _step(P, step[k], q)
        used[k] = False
        if not np.isnan(place[k, 0]):
            off_e, off_n = place[k, 0] - x[0], place[k, 1] - x[2]
            ee, nn, en = P[0, 0] + variance[k], P[2, 2] + variance[k], P[0, 2]
            far = (off_e * off_e * nn - 2 * off_e * off_n * en + off_n * off_n * ee) / (ee * nn - en * en)
            beyond = np.hypot(off_e, off_n)
            beyond = max(beyond - SHARP_MS2 / 2 * since * since, 0.0) / max(beyond, 1e-9)
            if far * beyond * beyond > gate and refused < MOST_REFUSED:
                refused += 1
            else:
                refused, since, used[k] = 0, 0.0, True
                _take_one(P, x, 0, off_e, variance[k])
                _take_one(P, x, 2, place[k, 1] - x[2], variance[k])
        if not np.isnan(speed[k, 0]):
            s, he, hn, r = speed[k, 0], speed[k, 1], speed[k, 2], speed[k, 3]
            if he == 0.0 and hn == 0.0:
                _take_one(P, x, 1, -x[1], r + s * s / 2)
                _take_one(P, x, 3, -x[3], r + s * s / 2)
            else:
                _take_speed(P, x, he, hn, s, r)
        state[k] = x
        covariance[k] = P
    _backward(step, first, q, state, covariance)
