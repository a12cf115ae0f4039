"""How many readings pass until a chart speaks: average run lengths, and the limits that have a given one.

The run length from a state solves a linear integral equation, which Gauss and Legendre's points turn into equations
(Crowder 1987, Technometrics 29:401 for the weighted mean; Vance 1986, J. Qual. Technol. 18:189 for the sum). Readings
are normal with variance 1, and limits those that they settle to.
"""

from functools import cache
from typing import Any, Final

import numpy as np
from scipy.optimize import brentq
from scipy.special import ndtr, roots_legendre

POINTS: Final = 60
"""Points of the rule; more change no digit that is printed anywhere."""
LEAST, MOST = 2.0, 1e7
"""Run lengths between which limits are looked for."""


@cache
def _rule() -> Any:
    """Return Gauss and Legendre's points and weights, which are asked for hundreds of times."""
    return roots_legendre(POINTS)


def ewma_run_length(weight: float, width: float, shift: float = 0.0, *, both: bool = True) -> float:
    """Return the average run length of the weighted mean of readings with mean `shift`.

    Args:
        weight: of the newest reading.
        width: of the limits, in standard deviations of the mean once it has settled.
        shift: mean of the readings, in their standard deviations.
        both: whether both limits are watched; else the upper one, with the mean kept from falling below minus four of
            its own standard deviations.
    """
    settled = np.sqrt(weight / (2.0 - weight))
    high, low = width * settled, -(width if both else 4.0) * settled
    nodes, masses = _rule()
    at = low + (high - low) * (nodes + 1.0) / 2.0
    mass = masses * (high - low) / 2.0
    reached = (at[None, :] - (1.0 - weight) * np.r_[0.0, at][:, None]) / weight - shift
    move = np.exp(-0.5 * reached**2) / np.sqrt(2.0 * np.pi) / weight * mass
    stays = np.zeros(POINTS + 1)
    if not both:  # a mean that would fall lower stands at the floor, whose length is that of the lowest point
        stays = ndtr((low - (1.0 - weight) * np.r_[0.0, at]) / weight - shift)
    move[:, 0] += stays
    lengths = np.linalg.solve(np.eye(POINTS) - move[1:], np.ones(POINTS))
    return float(1.0 + move[0] @ lengths)


def cusum_run_length(allowance: float, limit: float, shift: float = 0.0, *, both: bool = True) -> float:
    """Return the average run length of cumulative sums of readings with mean `shift`, beginning at nought.

    Args:
        allowance: what is let pass at each reading, in standard deviations.
        limit: at which the sum speaks, in standard deviations.
        shift: mean of the readings.
        both: whether both sums are watched; their rates then add up (Kemp 1961, J. R. Stat. Soc. B 23:149).
    """
    up = _one_sum(allowance, limit, shift)
    return up if not both else 1.0 / (1.0 / up + 1.0 / _one_sum(allowance, limit, -shift))


def _one_sum(allowance: float, limit: float, shift: float) -> float:
    nodes, masses = _rule()
    at, mass = limit * (nodes + 1.0) / 2.0, masses * limit / 2.0
    begin = np.r_[0.0, at]
    gone = at[None, :] - begin[:, None] + allowance - shift
    move = np.empty((POINTS + 1, POINTS + 1))
    move[:, 1:] = np.exp(-0.5 * gone**2) / np.sqrt(2.0 * np.pi) * mass
    move[:, 0] = ndtr(allowance - shift - begin)
    return float(np.linalg.solve(np.eye(POINTS + 1) - move, np.ones(POINTS + 1))[0])


@cache
def ewma_width(weight: float, run_length: float, *, both: bool = True) -> float:
    """Return the width of limits at which the weighted mean speaks falsely once in so many readings."""
    wanted = min(max(run_length, LEAST), MOST)
    return _found(lambda width: np.log(ewma_run_length(weight, width, both=both) / wanted), 0.1, 7.0)


@cache
def cusum_limit(allowance: float, run_length: float, *, both: bool = True) -> float:
    """Return the limit at which the sums speak falsely once in so many readings."""
    wanted = min(max(run_length, LEAST), MOST)
    return _found(lambda limit: np.log(cusum_run_length(allowance, limit, both=both) / wanted), 0.05, 25.0)


def _found(off: Any, low: float, high: float) -> float:
    return float(brentq(off, low, high, xtol=1e-8)) if off(low) < 0.0 else low
