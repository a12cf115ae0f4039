"""Runs that do not show all a horse had: beaten horses not persevered with, and winners eased down.

A run's residual is e = z - a, with z ~ N(0, sd^2) what the horse did when asked and a >= 0 what was left in
hand: a = 0 with probability 1 - share, else exponential with the given mean. For a winner this treats the
margin as a soft lower bound, so that a winning distance is censored rather than believed; for a beaten
horse it keeps one tailed-off run from wrecking a level.

Source: normal plus exponential (Aigner, Lovell & Schmidt 1977, stochastic frontiers), mixed with a plain
normal; expectation and maximisation of Dempster, Laird & Rubin 1977.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.special import expit, log_ndtr

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Easing:
    """How often a run is eased, and by how much on average (lb)."""

    share: float
    mean_lb: float


@dataclass(frozen=True, slots=True)
class InHand:
    """Per run: the chance that it was eased; mean (lb) and variance (lb^2) of what was left in hand."""

    chance: Floats
    mean: Floats
    variance: Floats


def in_hand(residual: Floats, sd: Floats, easing: Easing) -> InHand:
    """Return the posterior of what was left in hand given each residual.

    Args:
        residual: (n,) run less its expectation, lb.
        sd: (n,) standard deviation of a persevered run, lb.
        easing: share and mean.
    """
    persevered, eased, m, s = _log_parts(residual, sd, easing)
    chance = np.exp(eased - np.logaddexp(persevered, eased))
    mean, variance = _positive_part(m, s)
    expected = chance * mean
    return InHand(chance, expected, chance * (variance + mean**2) - expected**2)


def log_density(residual: Floats, sd: Floats, easing: Easing) -> Floats:
    """Return the log density of each residual under the mixture."""
    persevered, eased, _, _ = _log_parts(residual, sd, easing)
    return np.logaddexp(persevered, eased)


def _log_parts(residual: Floats, sd: Floats, easing: Easing) -> tuple[Floats, Floats, Floats, Floats]:
    """Return both log densities, and mean and sd of the normal whose positive part is `a`."""
    z = residual / sd
    persevered = np.log1p(-easing.share) - 0.5 * z**2 - np.log(sd) - 0.5 * np.log(2 * np.pi)
    rate = 1.0 / easing.mean_lb
    m = -residual - rate * sd**2
    eased = np.log(easing.share) + np.log(rate) + rate * residual + 0.5 * (rate * sd) ** 2 + log_ndtr(m / sd)
    return persevered, eased, m, sd


def _positive_part(m: Floats, s: Floats) -> tuple[Floats, Floats]:
    """Return mean and variance of N(m, s^2) kept to its positive part."""
    t = m / s
    hazard = np.exp(-0.5 * t**2 - 0.5 * np.log(2 * np.pi) - log_ndtr(t))
    return m + s * hazard, s**2 * np.maximum(1.0 - hazard * (t + hazard), 0.0)


@dataclass(frozen=True, slots=True)
class Evidence:
    """What a run says of its level, as one normal: performance (lb) and error variance (lb^2)."""

    y: Floats
    variance: Floats


def evidence(y: Floats, expected: Floats, uncertainty: Floats, noise: Floats, easing: Easing) -> Evidence:
    """Return the normal observation that moves a normal belief to the same mean and variance as the mixture does.

    Args:
        y: (n,) performance, lb.
        expected: (n,) what all other runs expect of it.
        uncertainty: (n,) variance of that expectation.
        noise: (n,) error variance of a persevered run.
        easing: share and mean.

    A run whose shortfall cannot be told from easing says little, never less than nothing: its variance is
    at most 20 times the noise, and it never pulls further than three standard deviations.

    Source: moment matching of one factor (Minka 2001, expectation propagation).
    """
    total = uncertainty + noise
    left = in_hand(y - expected, np.sqrt(total), easing)
    weight = uncertainty / total
    mean = expected + weight * (y - expected + left.mean)
    variance = uncertainty - weight * uncertainty + weight**2 * left.variance
    precision = np.maximum(1.0 / variance - 1.0 / uncertainty, 0.05 / noise)
    shift = (mean - expected) * (1.0 + 1.0 / (precision * uncertainty))
    most = 3.0 * np.sqrt(uncertainty + 1.0 / precision)
    return Evidence(expected + np.clip(shift, -most, most), 1.0 / precision)


LEAST_SAID = 1e-6
"""A censored run says at least so much of a persevered one, so that its variance is a number."""


def censored(y: Floats, expected: Floats, uncertainty: Floats, noise: Floats) -> Evidence:
    """Return what runs say in which a horse was not asked: that it would have done at least so much when asked.

    Of z ~ N(level, noise) only z >= y is known, so the belief moves up where the run was better than expected and not
    at all where it was far behind. Arguments as for `evidence`.

    Source: a censored normal (Tobin 1958), by moments (Minka 2001, expectation propagation).
    """
    total = uncertainty + noise
    t = (expected - y) / np.sqrt(total)
    hazard = np.exp(-0.5 * t**2 - 0.5 * np.log(2 * np.pi) - log_ndtr(t))
    gained = uncertainty / np.sqrt(total) * hazard
    left = uncertainty - uncertainty**2 / total * hazard * (hazard + t)
    precision = np.maximum(1.0 / left - 1.0 / uncertainty, LEAST_SAID / noise)
    return Evidence(expected + gained * (1.0 + 1.0 / (precision * uncertainty)), 1.0 / precision)


def estimate(residual: Floats, uncertainty: Floats, noise: Floats, start: Easing) -> tuple[Easing, float]:
    """Return the share and mean of greatest likelihood, and the multiple of `noise` that goes with them.

    Args:
        residual: (n,) performance less what all other runs expect of it, lb.
        uncertainty: (n,) variance of that expectation.
        noise: (n,) error variance of a persevered run, up to the multiple sought.
        start: where to start.
    """

    def loss(theta: Floats) -> float:
        easing = Easing(float(expit(theta[0])), float(np.exp(theta[1])))
        return -float(log_density(residual, np.sqrt(uncertainty + noise * np.exp(theta[2])), easing).mean())

    first = np.array([np.log(start.share / (1 - start.share)), np.log(start.mean_lb), 0.0])
    bounds = [(-7.0, 0.0), (np.log(0.5), np.log(60.0)), (np.log(0.2), np.log(3.0))]
    theta = minimize(loss, first, method="L-BFGS-B", bounds=bounds).x
    return Easing(float(expit(theta[0])), float(np.exp(theta[1]))), float(np.exp(theta[2]))
