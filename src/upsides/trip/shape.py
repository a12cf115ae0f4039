"""What shape says of trip, and how much of it a yard's own horses bear out.

Shape is one score q: how far towards the extremes that common practice takes for a longer trip a horse stands, in
points of the scale on average, about 1 from horse to horse. Score and standardised trip z are taken as normal with a
correlation r that nobody knows well: r starts near nothing, because published support is thin, and a yard's own horses
move it (`learn`).
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.trip.defaults import Defaults
from upsides.trip.population import Population
from upsides.trip.scale import GRID
from upsides.trip.traits import MIDDLE, TRAITS

Floats = NDArray[np.float64]

CORRELATIONS: Floats = np.linspace(-0.9, 0.9, 73)


@dataclass(frozen=True, slots=True)
class Reading:
    """How much shape tells: shares of CORRELATIONS, and from how many horses besides common practice."""

    weight: Floats
    horses: int

    @property
    def mean(self) -> float:
        """Mean correlation."""
        return float(self.weight @ CORRELATIONS)

    @property
    def sd(self) -> float:
        """Standard deviation of the correlation."""
        return float(np.sqrt(self.weight @ (CORRELATIONS - self.mean) ** 2))


def unlearned(given: Defaults) -> Reading:
    """Return what is thought before a yard's own horses speak."""
    log = -0.5 * ((CORRELATIONS - given.shape) / given.shape_sd) ** 2
    return Reading(_shares(log), 0)


def score(traits: Mapping[str, float]) -> float | None:
    """Return the score q of a horse from its traits' mean scores (1 to 9); None where none of them speaks of trip."""
    told = [trait.longer * (traits[trait.name] - MIDDLE) for trait in TRAITS if trait.longer and trait.name in traits]
    return float(np.mean(told)) if told else None


def log_likelihood(q: float, reading: Reading, p: Population, centre: float) -> Floats:
    """Return the log-likelihood of a score at the trips of GRID, (trips,).

    Args:
        q: the score.
        reading: how much shape tells.
        p: the population.
        centre: mean trip of the horse's group, octaves.
    """
    return np.asarray(np.log(_likelihood(q, p, centre) @ reading.weight + 1e-300))


def learn(scores: Floats, densities: Floats, centres: Floats, p: Population, given: Defaults) -> Reading:
    """Return how much shape tells once horses of a known score and a trip known from elsewhere are read.

    Args:
        scores: (horses,) q.
        densities: (horses, trips) what everything but shape says of each trip of GRID, shares.
        centres: (horses,) mean trip of each horse's group, octaves.
        p: the population.
        given: what was thought before.
    """
    log = np.log(unlearned(given).weight + 1e-300)
    for q, density, centre in zip(scores, densities, centres, strict=True):
        log = log + np.log(density @ _likelihood(q, p, centre) + 1e-300)
    return Reading(_shares(log), len(scores))


def _likelihood(q: float, p: Population, centre: float) -> Floats:
    """Return the likelihood of a score at each trip of GRID and each correlation, (trips, correlations)."""
    z, left = (GRID[:, None] - centre) / p.trip_sd, 1.0 - CORRELATIONS**2
    return np.asarray(np.exp(-0.5 * (q - CORRELATIONS * z) ** 2 / left) / np.sqrt(left))


def _shares(log: Floats) -> Floats:
    weight = np.exp(log - log.max())
    return np.asarray(weight / weight.sum())
