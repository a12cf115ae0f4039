"""What is thought of a horse that has not run, once it has worked beside horses of which more is known."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.judging.judged import SHARES, JudgedWork, log_likelihood
from upsides.recordings.judging.reserves import USUAL, Reading

Floats = NDArray[np.float64]

REACH, POINTS = 6.0, 241
"""Levels are looked at within so many standard deviations of what was thought before, at so many points."""


@dataclass(frozen=True, slots=True, eq=False)
class Belief:
    """A horse's level as a distribution.

    Attributes:
        mean: lb, on the scale of our figures.
        sd: its standard deviation.
        levels_lb: (n,) levels, rising evenly.
        density: (n,) their probabilities, which sum to 1.
    """

    mean: float
    sd: float
    levels_lb: Floats
    density: Floats


def with_works(prior_mean: float, prior_sd: float, works: Sequence[JudgedWork], reading: Reading = USUAL) -> Belief:
    """Return what is thought of a horse's level after its works.

    Of a debutant the prior is what `ratings.levels.debut.Debut.levels` gives. The levels of its partners are taken as
    they are given: they learn nothing of it in return.

    Args:
        prior_mean: what was thought before, lb.
        prior_sd: its standard deviation.
        works: what it did beside others.
        reading: how works are read.
    """
    levels = prior_mean + prior_sd * np.linspace(-REACH, REACH, POINTS)
    log = -0.5 * ((levels - prior_mean) / prior_sd)[:, None] ** 2 + log_likelihood(works, levels, reading)
    each = np.exp(log - log.max(axis=0))
    density = (each / each.sum(axis=0)) @ SHARES
    mean = float(density @ levels)
    return Belief(mean, float(np.sqrt(density @ (levels - mean) ** 2)), levels, density)
