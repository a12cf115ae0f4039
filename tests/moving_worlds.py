"""Runs simulated from the model of moving levels, with everything known."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from upsides.ratings.levels.record import Components, Record

TRUTH = Components(lasting=60.0, passing=40.0, tau=150.0, residual=36.0)


@dataclass(frozen=True, slots=True)
class World:
    """A record and the level at which each of its runs was run."""

    record: Record
    level: NDArray[np.float64]
    race_effect: NDArray[np.float64]


def world(seed: int, horses: int = 150, races: int = 180, field: int = 9, v: Components = TRUTH) -> World:
    """Races of random fields over three years; one covariate with coefficient 3."""
    rng = np.random.default_rng(seed)
    day_of = np.sort(rng.integers(0, 1000, races)).astype(float)
    runner = np.concatenate([rng.choice(horses, field, replace=False) for _ in range(races)])
    race = np.repeat(np.arange(races), field)
    order = np.lexsort((day_of[race], runner))
    runner, race = runner[order], race[order]
    _, runner = np.unique(runner, return_inverse=True)
    start = np.concatenate([[0], np.cumsum(np.bincount(runner))])
    x = rng.normal(size=start.size - 1)
    level = np.empty(runner.size)
    for i, (a, b) in enumerate(pairwise(start)):
        gap = np.abs(day_of[race[a:b], None] - day_of[race[a:b]])
        cov = v.lasting + v.passing * np.exp(-gap / v.tau)
        level[a:b] = 3.0 * x[i] + rng.multivariate_normal(np.zeros(b - a), cov, method="eigh")
    effect = rng.normal(120.0, 8.0, races)
    y = effect[race] + level + rng.normal(0, np.sqrt(v.residual), runner.size)
    n = runner.size
    record = Record(y, race, day_of[race], start, np.ones(n), np.zeros(n), x[runner][:, None], np.array([0.01]), races)
    return World(record, level, effect)
