"""A horse's curve: what it loses off its best trip.

    figure(x) = a - c(x - d),    c(u) = q / sqrt(1 + (q / C)^2),    q = 3 (u / w)^2

with x a race's demand and d the best trip in octaves, a what the horse is worth at its best trip, and w the width: how
far off the trip costs three pounds. The width differs between too short and too far, and from horse to horse. Far off
the trip the loss levels off towards C, because a beaten horse is let down.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

WIDTH_LB = 3.0
"""What a width off the best trip costs."""

MOST_LB = 40.0
"""C, what the loss levels off towards: our own choice."""

NODES, WEIGHTS = np.polynomial.hermite_e.hermegauss(5)
WEIGHTS = WEIGHTS / WEIGHTS.sum()
"""Versatilities of horses, in standard deviations of the log of the width, with their shares (Gauss and Hermite)."""


def loss(off: ArrayLike, short: ArrayLike, long: ArrayLike) -> Floats:
    """Return the loss in lb, at least 0.

    Args:
        off: octaves beyond the best trip; negative where the race is too short.
        short: width in octaves where the race is too short.
        long: width where it is too far.
    """
    u = np.asarray(off, dtype=np.float64)
    q = WIDTH_LB * (u / np.where(u < 0, short, long)) ** 2
    return np.asarray(q / np.sqrt(1.0 + (q / MOST_LB) ** 2))
