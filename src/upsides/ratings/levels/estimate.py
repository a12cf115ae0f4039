"""Variance components of moving levels by restricted maximum likelihood.

Traces are exact below a stated size and stochastic above it.

Steps are average-information steps, corrected by what the score was seen to do (Broyden 1965), because real
entries follow no random allotment and the average information alone then converges slowly.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.ratings.levels import exact, iterative
from upsides.ratings.levels.record import Components, Record

Floats = NDArray[np.float64]
Score = Callable[[Components], tuple[Floats, Floats, Floats]]

EXACT_BELOW = 2_500
"""Races up to which the score is exact by default; above, its Monte Carlo error is printed."""


_LEAST = 1e-8
"""Added to the information's diagonal, so that what the runs say nothing of stays where it is."""


@dataclass(frozen=True, slots=True)
class Prior:
    """Independent log-normal priors: the centre, and the standard deviation of each logarithm, shape (4,)."""

    centre: Components
    log_sd: tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Estimate:
    """Components with standard errors and Monte Carlo errors, in logarithms, in their order."""

    components: Components
    log_se: Floats
    log_monte_carlo: Floats
    iterations: int
    converged: bool
    exact: bool


def estimate(
    record: Record,
    start: Components,
    *,
    prior: Prior | None = None,
    exact_below: int = EXACT_BELOW,
    probes: int = 16,
    seed: int = 0,
    tolerance: float = 0.01,
    most: int = 40,
    progress: Callable[[int, float], None] | None = None,
) -> Estimate:
    """Maximise the restricted likelihood from `start`.

    Args:
        record: the runs.
        start: first guess.
        prior: what is thought of the components beforehand; without it the likelihood speaks alone.
        exact_below: races up to which traces are exact.
        probes: random sign vectors above that size.
        seed: of the signs.
        tolerance: stop when score' information^-1 score, about the deviance still to be gained, is below
            this.
        most: iterations at most.
        progress: told the iteration and that gain.
    """
    is_exact = record.races <= exact_below
    score = _exact_score(record) if is_exact else _stochastic_score(record, probes, seed)
    score = score if prior is None else _with_prior(score, prior)
    v, g, G, error = start, *score(start)
    for iteration in range(1, most + 1):
        free = _free(v, g)
        gain = float(g[free] @ _solved(G, g, free))
        if progress:
            progress(iteration, gain)
        if abs(gain) < tolerance:
            break
        v, g, G, error = _step(score, v, g, G, free)
    covariance = np.zeros((4, 4))
    covariance[np.ix_(free, free)] = np.linalg.inv(G[np.ix_(free, free)] + _LEAST * np.eye(int(free.sum())))
    log_se = np.sqrt(np.maximum(np.diag(covariance), 0.0))
    log_se = np.where(free & (log_se < 1e3), log_se, np.nan)
    monte_carlo = np.sqrt(((covariance * error) ** 2).sum(axis=1))
    return Estimate(v, log_se, monte_carlo, iteration, abs(gain) < tolerance, is_exact)


def _solved(G: Floats, g: Floats, free: NDArray[np.bool_]) -> Floats:
    """Return G^-1 g over the free components."""
    some = np.ix_(free, free)
    return np.asarray(np.linalg.solve(G[some] + _LEAST * np.eye(int(free.sum())), g[free]))


def _with_prior(score: Score, prior: Prior) -> Score:
    """Return the score of the log posterior and its curvature."""
    centre = prior.centre
    m = np.log([centre.lasting, centre.passing, centre.tau, centre.residual])
    precision = np.array(prior.log_sd) ** -2

    def with_prior(v: Components) -> tuple[Floats, Floats, Floats]:
        g, G, error = score(v)
        at = np.log([v.lasting, v.passing, v.tau, v.residual])
        return g - precision * (at - m), G + np.diag(precision), error

    return with_prior


def _exact_score(record: Record) -> Score:
    def score(v: Components) -> tuple[Floats, Floats, Floats]:
        g, G = exact.score_and_information(record, exact.solve(record, v))
        return g, G, np.zeros(4)

    return score


def _stochastic_score(record: Record, probes: int, seed: int) -> Score:
    signs = iterative.random_signs(record, probes, seed)

    def score(v: Components) -> tuple[Floats, Floats, Floats]:
        s = iterative.solve(record, v, signs)
        return s.score, s.information, s.score_error

    return score


def _step(
    score: Score, v: Components, g: Floats, G: Floats, free: NDArray[np.bool_]
) -> tuple[Components, Floats, Floats, Floats]:
    """Return components, score, curvature and error after a step, shortened while the score grows."""
    step = np.zeros(4)
    towards = _solved(G, g, free)
    step[free] = np.clip(towards, -1.0, 1.0)
    before = float(g[free] @ towards)
    for _ in range(5):
        trial = v.moved(step)
        new, information, error = score(trial)
        after = float(new[free] @ _solved(information, new, free))
        if after < 4.0 * abs(before) + 1.0:
            break
        step = step / 2.0
    return trial, new, _broyden(information, step, g - new), error


def _broyden(information: Floats, step: Floats, fell: Floats) -> Floats:
    """Return the average information, stretched along the step to explain how far the score fell.

    Only a stretch between a third and three is believed, so that a noisy score cannot turn the next step
    round.
    """
    length = float(step @ step)
    if length < 1e-12:
        return information
    expected, seen = float(step @ information @ step), float(step @ fell)
    ratio = np.clip(seen / expected, 1 / 3, 3.0) if expected > 0 else 1.0
    along = information @ step
    return np.asarray(information + (ratio - 1.0) * np.outer(along, along) / expected)


def _free(v: Components, score: Floats) -> NDArray[np.bool_]:
    """Return which components may still move: one shrunk to nothing that wants less is left."""
    small = np.array([v.lasting, v.passing, np.inf, v.residual]) < 1e-3 * (v.lasting + v.passing + v.residual)
    free = ~(small & (score < 0))
    free[2] &= bool(free[1]) and not (v.tau > 1e5 and score[2] > 0)
    return free
