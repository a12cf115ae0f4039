"""Covariance of one horse's runs when its level moves in time, and the sums over horses that a fit needs.

A horse's level on day t is a lasting part plus a passing part (form) that forgets itself at rate 1/tau:

    level(t) = a + w(t),   a ~ N(0, lasting),   cov(w(s), w(t)) = passing * exp(-|s - t| / tau)

so the runs of horse i have covariance V_i = lasting * 1 1' + passing * exp(-|t - t'| / tau) + diag(noise).
A gap between runs needs no
special case: form simply has longer to fade. Runs are sorted by horse, then day; horse i owns rows
start[i]:start[i+1], and its n_i x n_i blocks lie in one flat array at block[i]:block[i+1], row by row.

Source: the Ornstein-Uhlenbeck process in continuous time (Uhlenbeck & Ornstein 1930), conditioned at the
days of the runs.
"""

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


def block_offsets(start: Ints) -> Ints:
    """Return where each horse's square block begins, and the total, shape (horses + 1,)."""
    sizes = np.diff(start)
    return np.concatenate([[0], np.cumsum(sizes * sizes)]).astype(np.int64)


@njit("Tuple((f8[::1], f8))(i8[::1], i8[::1], f8[::1], f8[::1], f8, f8, f8)", cache=True, nogil=True)
def inverse_blocks(
    start: Ints, block: Ints, day: Floats, noise: Floats, lasting: float, passing: float, tau: float
) -> tuple[Floats, float]:
    """Return the inverses of all V_i, flat, and the sum of log|V_i|."""
    out = np.empty(block[-1])
    logdet = 0.0
    for i in range(start.size - 1):
        a, n = start[i], start[i + 1] - start[i]
        V = np.empty((n, n))
        for j in range(n):
            for k in range(n):
                V[j, k] = lasting + passing * np.exp(-abs(day[a + j] - day[a + k]) / tau)
            V[j, j] += noise[a + j]
        L = np.linalg.cholesky(V)
        for j in range(n):
            logdet += 2.0 * np.log(L[j, j])
        inv = np.linalg.inv(V)
        for j in range(n):
            for k in range(n):
                out[block[i] + j * n + k] = 0.5 * (inv[j, k] + inv[k, j])
    return out, logdet


@njit("f8[:, ::1](i8[::1], i8[::1], f8[::1], f8[:, ::1])", cache=True, nogil=True)
def multiply(start: Ints, block: Ints, flat: Floats, X: Floats) -> Floats:
    """Return the block-diagonal matrix held in `flat` times X, shape (runs, columns)."""
    out = np.zeros(X.shape)
    for i in range(start.size - 1):
        a, n = start[i], start[i + 1] - start[i]
        for j in range(n):
            for k in range(n):
                v = flat[block[i] + j * n + k]
                for c in range(X.shape[1]):
                    out[a + j, c] += v * X[a + k, c]
    return out


@njit("void(i8[::1], i8[::1], f8[::1], i8[::1], f8[:, ::1])", cache=True, nogil=True)
def add_by_race(start: Ints, block: Ints, flat: Floats, race: Ints, S: Floats) -> None:
    """Add E' B E to S (races x races), B block diagonal over horses and E the runs' race indicators."""
    for i in range(start.size - 1):
        a, n = start[i], start[i + 1] - start[i]
        for j in range(n):
            for k in range(n):
                S[race[a + j], race[a + k]] += flat[block[i] + j * n + k]


@njit("f8[::1](i8[::1], i8[::1], i8[::1], f8[:, ::1], f8[:, ::1], f8[:, ::1])", cache=True, nogil=True)
def fixed_part_blocks(start: Ints, block: Ints, race: Ints, C: Floats, X: Floats, XC: Floats) -> Floats:
    """Return each horse's block of T C T', T = [E, X], flat.

    Args:
        start: first run of each horse.
        block: first entry of each horse's block.
        race: race of each run.
        C: inverse coefficient matrix, races first, then the columns of X.
        X: (runs, q) covariates.
        XC: (runs, q) the product X C_xx.
    """
    q, races = X.shape[1], C.shape[0] - X.shape[1]
    out = np.empty(block[-1])
    for i in range(start.size - 1):
        a, n = start[i], start[i + 1] - start[i]
        for j in range(n):
            for k in range(j + 1):
                total = C[race[a + j], race[a + k]]
                for c in range(q):
                    total += C[race[a + j], races + c] * X[a + k, c] + C[race[a + k], races + c] * X[a + j, c]
                    total += XC[a + j, c] * X[a + k, c]
                out[block[i] + j * n + k] = total
                out[block[i] + k * n + j] = total
    return out


@njit("f8[::1](i8[::1], i8[::1], f8[::1], f8[::1])", cache=True, nogil=True)
def projected_blocks(start: Ints, block: Ints, inverse: Floats, fixed: Floats) -> Floats:
    """Return each horse's block of P = V^-1 - V^-1 T C T' V^-1, flat."""
    out = np.empty(block[-1])
    for i in range(start.size - 1):
        n = start[i + 1] - start[i]
        W = inverse[block[i] : block[i + 1]].copy().reshape(n, n)
        Q = fixed[block[i] : block[i + 1]].copy().reshape(n, n)
        P = W - W @ Q @ W
        out[block[i] : block[i + 1]] = P.ravel()
    return out


@njit("Tuple((f8[::1], f8[::1]))(i8[::1], i8[::1], f8[::1], f8, f8)", cache=True, nogil=True)
def passing_blocks(start: Ints, block: Ints, day: Floats, passing: float, tau: float) -> tuple[Floats, Floats]:
    """Return the covariance K of the passing part, and its derivative in log(tau), both flat."""
    K, dK = np.empty(block[-1]), np.empty(block[-1])
    for i in range(start.size - 1):
        a, n = start[i], start[i + 1] - start[i]
        for j in range(n):
            for k in range(n):
                lag = abs(day[a + j] - day[a + k]) / tau
                K[block[i] + j * n + k] = passing * np.exp(-lag)
                dK[block[i] + j * n + k] = K[block[i] + j * n + k] * lag
    return K, dK


def diagonal(start: Ints, block: Ints, flat: Floats) -> Floats:
    """Return the diagonal of the block-diagonal matrix held in `flat`, shape (runs,)."""
    size = np.diff(start)
    k = np.arange(start[-1]) - np.repeat(start[:-1], size)
    return np.asarray(flat[np.repeat(block[:-1], size) + k * (np.repeat(size, size) + 1)])


def horse_sums(start: Ints, F: Floats) -> Floats:
    """Return each horse's column sums repeated for its runs: 1 1' F, shape of F."""
    return np.repeat(np.add.reduceat(F, start[:-1], axis=0), np.diff(start), axis=0)
