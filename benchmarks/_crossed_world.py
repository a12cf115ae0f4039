"""Runs simulated from known levels: horses meet those of their own time and class only."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

SDS = (5.8, 8.7, 9.4)  # race, horse, residual, in pounds
CAREER, GAP_DAYS, FIELD = 17.0, 28.0, 12.5  # mean runs a horse, days between them, runners a race
CELL = 50  # runs of one class in one week


@dataclass(frozen=True, slots=True)
class World:
    """Simulated runs in order of date.

    Attributes:
        y: (n,) figures.
        race: (n,) number of each run's race.
        horse: (n,) number of each run's horse.
        horse_level: (horses,) true levels.
    """

    y: NDArray[np.float64]
    race: NDArray[np.int32]
    horse: NDArray[np.int32]
    horse_level: NDArray[np.float64]


def simulate(runs: int, years: float, seed: int) -> World:
    """Return about `runs` runs over `years` years.

    A horse's class is drawn apart from its level, so that who meets whom tells nothing of the levels and the
    truth can be recovered without bias.
    """
    rng = np.random.default_rng(seed)
    horses = round(runs / CAREER)
    career = 1 + rng.poisson(rng.gamma(1.5, (CAREER - 1) / 1.5, horses))
    horse = np.repeat(np.arange(horses, dtype=np.int32), career)
    debut = np.repeat(rng.uniform(0, years * 365, horses).astype(np.float32), career)
    order = np.arange(horse.size) - np.repeat(np.cumsum(career) - career, career)
    week = ((debut + order * GAP_DAYS + rng.uniform(0, 14, horse.size)) / 7).astype(np.int32)
    classes = max(1, round(runs / CELL / (years * 52)))
    grade = np.repeat(rng.integers(0, classes, horses), career) + rng.integers(-1, 2, horse.size)
    sort = np.lexsort((rng.random(horse.size, dtype=np.float32), np.clip(grade, 0, classes - 1), week))
    horse = horse[sort]
    del debut, order, week, grade, sort
    size = np.clip(rng.poisson(FIELD, round(horse.size / 10)), 4, 20)
    race = np.repeat(np.arange(size.size, dtype=np.int32), size)[: horse.size]
    horse = horse[: race.size]
    level, pace = rng.normal(0, SDS[1], horses), rng.normal(0, SDS[0], int(race[-1]) + 1)
    y = 110 + level[horse] + pace[race] + rng.normal(0, SDS[2], race.size)
    return World(y, race, horse, level)
