"""What each horse's own runs say of its ability and trip, as one normal word without what was thought before.

The posterior of a horse from its own runs and from where it was run, over the population's prior, has mean m and
covariance S. Taking the prior (m0, S0) out leaves the precision L = S^-1 - S0^-1 and the word
L^-1 (S^-1 m - S0^-1 m0), to be added to whatever else is known. It is a normal approximation, and only relatives are
told of by it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.trip import curve
from upsides.trip.case import TRUST
from upsides.trip.population import Population, entered_log, evidence
from upsides.trip.prior import covariance_of
from upsides.trip.runs import Runs
from upsides.trip.scale import GRID

Floats = NDArray[np.float64]

AT_ONCE = 4000
LEAST = 1e-6
"""Precision below which a word is taken for none, against the prior's."""


@dataclass(frozen=True, slots=True)
class Words:
    """Words of horses about their ability (lb) and trip (octaves).

    Attributes:
        word: (horses, 2) as deviations from the horse's group.
        precision: (horses, 2, 2), nought where runs say nothing.
    """

    word: Floats
    precision: Floats


def own_words(runs: Runs, p: Population, centre: Floats) -> Words:
    """Return what runs say of each horse.

    Args:
        runs: the runs.
        p: the population.
        centre: (horses, 2) mean ability and trip of each horse's group.
    """
    parts = [
        _words(runs.of(np.arange(first, min(first + AT_ONCE, runs.size))), p, centre[first : first + AT_ONCE])
        for first in range(0, runs.size, AT_ONCE)
    ]
    return Words(np.concatenate([w.word for w in parts]), np.concatenate([w.precision for w in parts]))


def _words(runs: Runs, p: Population, centre: Floats) -> Words:
    mean, covariance = _moments(runs, p, centre)
    before = covariance_of(p)
    known, prior = np.linalg.inv(covariance), np.linalg.inv(before)
    root = np.linalg.cholesky(prior)
    inner = np.linalg.inv(root)
    values, vectors = np.linalg.eigh(inner @ (known - prior) @ inner.T)
    values = np.where(values > LEAST, values, 0.0)  # a word never makes anybody less sure
    turned = root @ vectors
    precision = (turned * values[:, None, :]) @ np.swapaxes(turned, 1, 2)
    back = np.swapaxes(np.linalg.inv(turned), 1, 2)
    shares = np.divide(1.0, values, out=np.zeros_like(values), where=values > 0.0)
    inverse = (back * shares[:, None, :]) @ np.swapaxes(back, 1, 2)
    word = inverse @ (known @ (mean - centre)[:, :, None])
    return Words(word[:, :, 0], precision)


def _moments(runs: Runs, p: Population, centre: Floats) -> tuple[Floats, Floats]:
    """Return the posterior's mean (horses, 2) and covariance (horses, 2, 2) from own runs alone."""
    e = evidence(runs, p, np.zeros(runs.size))
    ability = (centre[:, :1] + p.ridge * (GRID - centre[:, 1:]))[:, :, None]
    A, variance = e.A[:, None, None], p.ability_sd**2
    precision = A + 1.0 / variance
    both = e.B + ability / variance
    log = e.C + 0.5 * (both**2 / precision - ability**2 / variance)
    log += (-0.5 * ((GRID - centre[:, 1:]) / p.trip_sd) ** 2 + TRUST * entered_log(runs, p))[:, :, None]
    log += np.log(curve.WEIGHTS)
    weight = np.exp(log - log.max(axis=(1, 2), keepdims=True))
    weight /= weight.sum(axis=(1, 2), keepdims=True)
    a, d = both / precision, GRID[None, :, None]
    mean = np.stack([(weight * a).sum(axis=(1, 2)), (weight * d).sum(axis=(1, 2))], axis=1)
    off_a, off_d = a - mean[:, :1, None], d - mean[:, 1:, None]
    covariance = np.empty((runs.size, 2, 2))
    covariance[:, 0, 0] = (weight * (off_a**2 + 1.0 / precision)).sum(axis=(1, 2))
    covariance[:, 0, 1] = covariance[:, 1, 0] = (weight * off_a * off_d).sum(axis=(1, 2))
    covariance[:, 1, 1] = (weight * off_d**2).sum(axis=(1, 2))
    return mean, covariance
