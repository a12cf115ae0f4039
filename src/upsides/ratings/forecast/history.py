"""What each horse, and each pair of names, had done before a run: chains of earlier runs and sums over them."""

import numpy as np
from numba import njit

from upsides.ratings.forecast.starters import Floats, Ints


def previous(code: Ints, day: Ints) -> Ints:
    """Return the index of the last earlier run with the same `code`, -1 when none (or when the code is -1).

    Args:
        code: who ran, shape (runs,), in order of time.
        day: racing day of each run, shape (runs,); runs of the same day are not earlier.
    """
    return np.asarray(_previous(code, day))


@njit("i8[::1](i8[::1], i8[::1])", cache=True)
def _previous(code: Ints, day: Ints) -> Ints:
    last = np.full(code.max() + 2, -1, dtype=np.int64)
    out = np.full(code.size, -1, dtype=np.int64)
    for i in range(code.size):
        if code[i] < 0:
            continue
        j = last[code[i]]
        while j >= 0 and day[j] == day[i]:
            j = out[j]
        out[i] = j
        last[code[i]] = i
    return out


def chain(before: Ints, depth: int) -> Ints:
    """Return the indices of the last `depth` runs, latest first, shape (runs, depth); -1 where there are fewer."""
    out = np.full((before.size, depth), -1, dtype=np.int64)
    out[:, 0] = before
    for k in range(1, depth):
        out[:, k] = np.where(out[:, k - 1] >= 0, before[out[:, k - 1]], -1)
    return out


def at(x: Floats, index: Ints) -> Floats:
    """Return `x[index]`, NaN where the index is -1."""
    return np.where(index >= 0, x[index], np.nan)


@njit("f8[:,::1](i8[::1], i8[::1], f8[::1], f8)", cache=True)
def _decayed(before: Ints, day: Ints, x: Floats, days: float) -> Floats:
    out = np.zeros((before.size, 2))
    state = np.zeros((before.size, 2))
    for i in range(before.size):
        j = before[i]
        if j >= 0:
            keep = np.exp(-(day[i] - day[j]) / days)
            out[i, 0] = state[j, 0] * keep
            out[i, 1] = state[j, 1] * keep
        state[i, 0] = out[i, 0]
        state[i, 1] = out[i, 1]
        if not np.isnan(x[i]):
            state[i, 0] += x[i]
            state[i, 1] += 1.0
    return out


def decayed(before: Ints, day: Ints, x: Floats, days: float) -> tuple[Floats, Floats]:
    """Return the sum and the number of earlier known `x`, each fading with time constant `days`, shapes (runs,)."""
    out = _decayed(before, day, np.ascontiguousarray(x), float(days))
    return out[:, 0].copy(), out[:, 1].copy()


def shrunk(total: Floats, count: Floats, prior: float, weight: float) -> Floats:
    """Return the mean drawn towards `prior` as if `weight` more observations of it had been seen."""
    return (total + prior * weight) / (count + weight)
