"""Errors that last: noise with a memory."""

import numpy as np
from numpy.typing import NDArray


def drifting(rng: np.random.Generator, count: int, sd: float, memory: float) -> NDArray[np.float64]:
    """Draw a first-order Gauss-Markov series.

    Args:
        rng: source of chance.
        count: how many values.
        sd: its standard deviation.
        memory: after how many values the correlation has fallen to 1/e.

    Returns:
        (count,) values.
    """
    from scipy.signal import lfilter

    keep = float(np.exp(-1.0 / memory))
    shocks = rng.standard_normal(count) * sd * np.sqrt(1.0 - keep**2)
    shocks[:1] = rng.standard_normal(min(count, 1)) * sd
    return np.asarray(lfilter([1.0], [1.0, -keep], shocks), dtype=np.float64)
