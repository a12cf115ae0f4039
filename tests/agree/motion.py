"""The smoother's model as its matrices, and as one system of normal equations: slow, plain, and another way round."""

from dataclasses import dataclass
from typing import Any

import numpy as np

Array = np.ndarray[Any, Any]


@dataclass(frozen=True)
class Linear:
    """x_0 ~ N(mean, spread); x_k = F_k x_{k-1} + N(0, Q_k); for each k, rows h x_k = z + N(0, r)."""

    mean: Array
    spread: Array
    F: list[Array]
    Q: list[Array]
    measured: list[list[tuple[Array, float, float]]]


def axis(step: float, q: float) -> tuple[Array, Array]:
    """Return F and Q of one axis (Bar-Shalom, Li and Kirubarajan 2001, section 6.2.2)."""
    F = np.array([[1.0, step], [0.0, 1.0]])
    return F, q * np.array([[step**3 / 3, step**2 / 2], [step**2 / 2, step]])


def two_axes(step: float, q: float) -> tuple[Array, Array]:
    """Return F and Q of both axes: east, its speed, north, its speed."""
    F, Q = axis(step, q)
    return np.kron(np.eye(2), F), np.kron(np.eye(2), Q)


def inverse(A: Array) -> Array:
    """Return A^-1 of any floating type, by Gauss and Jordan with the largest pivot."""
    n = len(A)
    work = np.concatenate([A, np.eye(n, dtype=A.dtype)], axis=1)
    for i in range(n):
        pivot = i + int(np.argmax(np.abs(work[i:, i])))
        work[[i, pivot]] = work[[pivot, i]]
        work[i] /= work[i, i]
        for j in range(n):
            if j != i:
                work[j] -= work[j, i] * work[i]
    return work[:, n:]


def filtered(model: Linear) -> tuple[list[Array], list[Array], list[Array], list[Array]]:
    """Return means and covariances, foretold and after the measurements (Kalman 1960)."""
    dtype = model.mean.dtype
    before, spread_before, after, spread_after = [], [], [], []
    for k, rows in enumerate(model.measured):
        if k == 0:
            x, P = model.mean, model.spread
        else:
            F, Q = model.F[k].astype(dtype), model.Q[k].astype(dtype)
            x, P = F @ x, F @ P @ F.T + Q
        before.append(x)
        spread_before.append(P)
        for h, z, r in rows:
            S = h @ P @ h + r
            K = P @ h / S
            rest = np.eye(len(x), dtype=dtype) - np.outer(K, h)
            x, P = x + K * (z - h @ x), rest @ P @ rest.T + np.outer(K, K) * r
        after.append(x)
        spread_after.append(P)
    return before, spread_before, after, spread_after


def smoothed(model: Linear) -> tuple[Array, Array]:
    """Return smoothed means and covariances (Rauch, Tung and Striebel 1965, equations 3.28 to 3.30)."""
    before, spread_before, after, spread_after = filtered(model)
    x, P = after[-1], spread_after[-1]
    means, spreads = [x], [P]
    for k in range(len(after) - 2, -1, -1):
        C = spread_after[k] @ model.F[k + 1].astype(x.dtype).T @ inverse(spread_before[k + 1])
        x = after[k] + C @ (x - before[k + 1])
        P = spread_after[k] + C @ (P - spread_before[k + 1]) @ C.T
        means.append(x)
        spreads.append(P)
    return np.array(means[::-1]), np.array(spreads[::-1])


def least_squares(model: Linear) -> tuple[Array, Array]:
    """Return means and covariances of all states at once, from the normal equations of everything that is known."""
    n, m = len(model.measured), len(model.mean)
    A, b = np.zeros((n * m, n * m)), np.zeros(n * m)
    first = np.linalg.inv(model.spread)
    A[:m, :m] += first
    b[:m] += first @ model.mean
    for k in range(1, n):
        W, F = np.linalg.inv(model.Q[k]), model.F[k]
        one, two = slice((k - 1) * m, k * m), slice(k * m, (k + 1) * m)
        A[one, one] += F.T @ W @ F
        A[one, two] -= F.T @ W
        A[two, one] -= W @ F
        A[two, two] += W
    for k, rows in enumerate(model.measured):
        here = slice(k * m, (k + 1) * m)
        for h, z, r in rows:
            A[here, here] += np.outer(h, h) / r
            b[here] += h * z / r
    whole = np.linalg.inv(A)
    means = (whole @ b).reshape(n, m)
    return means, np.array([whole[k * m : (k + 1) * m, k * m : (k + 1) * m] for k in range(n)])
