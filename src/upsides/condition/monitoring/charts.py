"""Two charts on a series: the exponentially weighted mean, and the tabular cumulative sum.

    E_i = (1 - w) E_(i-1) + w x_i,       limits  target +- L sd sqrt(w / (2 - w) (1 - (1 - w)^(2 i)))
    H_i = max(0, H_(i-1) + x_i - target - k),   G_i = max(0, G_(i-1) + target - k - x_i)

Limits are those of the first readings too, not only those they settle to (NIST/SEMATECH e-Handbook of Statistical
Methods, 6.3.2.3 and 6.3.2.4; Montgomery and Runger, Applied Statistics and Probability for Engineers, chapter 16). The
steps are compiled and shared with the walk over a yard's readings.
"""

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@njit("UniTuple(f8, 2)(f8, f8, f8, f8)", cache=True, nogil=True)
def ewma_step(mean: float, variance: float, x: float, weight: float) -> tuple[float, float]:
    """Return the weighted mean after a reading of variance 1, and its variance."""
    keep = 1.0 - weight
    return keep * mean + weight * x, keep * keep * variance + weight * weight


@njit("f8(f8, f8, f8)", cache=True, nogil=True)
def cusum_step(total: float, x: float, allowance: float) -> float:
    """Return the sum after a reading."""
    return max(0.0, total + x - allowance)


@dataclass(frozen=True, slots=True, eq=False)
class Ewma:
    """The weighted mean of a series, (n,), with its limits at each reading, (n,)."""

    mean: Floats
    low: Floats
    high: Floats


def ewma(x: Floats, target: float, sd: float, weight: float, width: float) -> Ewma:
    """Return the exponentially weighted mean of a series with its exact limits.

    Args:
        x: (n,) readings in order, independent of one another.
        target: what they should be.
        sd: of one reading.
        weight: of the newest reading, above 0 and at most 1.
        width: of the limits, in standard deviations of the mean.
    """
    means, sds = np.empty(x.size), np.empty(x.size)
    mean, variance = 0.0, 0.0
    for i, one in enumerate((x - target) / sd):
        mean, variance = ewma_step(mean, variance, float(one), weight)
        means[i], sds[i] = mean, np.sqrt(variance)
    return Ewma(target + sd * means, target - width * sd * sds, target + width * sd * sds)


@dataclass(frozen=True, slots=True, eq=False)
class Cusum:
    """The sums of a series, upwards and downwards, (n,) each, in its own unit."""

    high: Floats
    low: Floats


def cusum(x: Floats, target: float, allowance: float) -> Cusum:
    """Return the tabular cumulative sums of a series.

    Args:
        x: (n,) readings in order.
        target: what they should be.
        allowance: what is let pass at each reading, in their unit: half the shift that one wants to see.
    """
    high, low = np.empty(x.size), np.empty(x.size)
    up, down = 0.0, 0.0
    for i, one in enumerate(x - target):
        up, down = cusum_step(up, float(one), allowance), cusum_step(down, -float(one), allowance)
        high[i], low[i] = up, down
    return Cusum(high, low)
