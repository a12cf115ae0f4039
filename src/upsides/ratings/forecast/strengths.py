"""First stage: levels of horses, riders, trainers and stalls as known before each race."""

from dataclasses import dataclass

import numpy as np

from upsides.ratings.forecast import measures
from upsides.ratings.forecast.effects import Effect, Filtered, filter_effects
from upsides.ratings.forecast.starters import Floats, Ints, Starters, centred, distance_band, groups

OWN = ("horse", "form", "surface", "course", "trip", "ground")
"""Effects that belong to the horse itself."""
PEOPLE = ("jockey", "trainer", "trainer_form", "trainer_surface", "trainer_course", "pair")


@dataclass(frozen=True, slots=True)
class Strengths:
    """Filters of the margins (`lb`) and of margins tied to the clock (`clock`)."""

    lb: Filtered
    clock: Filtered

    @property
    def own(self) -> Floats:
        """Return the horse's level today in pounds, shape (runs,)."""
        return self.lb.total(OWN)

    @property
    def strength(self) -> Floats:
        """Return the level with the people round the horse, in pounds, shape (runs,)."""
        return self.lb.total(OWN + PEOPLE)

    @property
    def variance(self) -> Floats:
        """Return the variance of the horse's level, shape (runs,)."""
        return self.lb.variance_of("horse") + self.lb.variance_of("form")


def _effects(runs: Starters, unit: float, newcomer: Floats) -> list[Effect]:
    """Return the crossed effects; variances are multiples of `unit` squared, time constants are in days."""
    r, horse, u = runs.race, runs.horse, unit**2
    everyone = np.zeros(horse.size, dtype=np.int64)
    surface, course, band = runs.surface[r], runs.course[r], distance_band(runs)[r]
    track = groups(course, surface, band)
    stall = centred(runs, runs.draw / runs.size[r])
    early = centred(runs, np.nan_to_num((runs.early - 1) / (runs.size[r] - 1), nan=0.5))
    new = newcomer > 0
    return [
        Effect("horse", horse, 24.0 * u),
        Effect("form", horse, 7.0 * u, 100.0),
        Effect("surface", groups(horse, surface), 4.0 * u),
        Effect("course", groups(horse, course), 1.0 * u),
        Effect("trip", groups(horse, band), 2.0 * u),
        Effect("ground", groups(horse, runs.going[r]), 0.1 * u),
        Effect("jockey", runs.jockey, 4.0 * u, 8000.0),
        Effect("trainer", runs.trainer, 8.0 * u, 4000.0),
        Effect("trainer_form", runs.trainer, 1.0 * u, 60.0),
        Effect("trainer_surface", groups(runs.trainer, surface), 0.4 * u),
        Effect("trainer_course", groups(runs.trainer, course), 0.6 * u),
        Effect("pair", groups(runs.trainer, runs.jockey), 0.1 * u),
        Effect("rider_on_horse", groups(horse, runs.jockey), 0.4 * u),
        Effect("country", runs.country, 2.0 * u),
        Effect("debut_trainer", np.where(new, runs.trainer, -1), 0.15 * u),
        Effect("debut", np.where(new, 0, -1), 4.0 * u),
        Effect("carried", everyone, 0.1 * u, np.inf, centred(runs, runs.carried)),
        Effect("mass", everyone, 0.01 * u, np.inf, centred(runs, runs.mass)),
        Effect("stall", track, 4.5 * u, np.inf, stall),
        Effect("stall_rail", groups(track, runs.rail[r]), 1.0 * u, np.inf, stall),
        Effect("pace", r, 8.0 * u, np.inf, early),  # known only after the race: judges the run, predicts nothing
    ]


def strengths(runs: Starters, newcomer: Floats, unit: float = 1.35) -> Strengths:
    """Return the two filters; `newcomer` marks first runs, `unit` scales pounds (only ratios matter).

    A race without times enters the filter of the clock with its margins only.
    """
    y = measures.performance(runs)
    noise = 12.0 * measures.error_growth(runs) * unit**2
    effects = _effects(runs, unit, newcomer)
    lb = filter_effects(runs.day, runs.start, y, noise, effects, clip=3.0, newcomers="horse")
    timed = measures.clocked(runs, y)
    known = np.isfinite(timed)
    if not known.any():
        return Strengths(lb, lb)
    free = np.where(known[runs.start[:-1]], 300.0, 1e6)
    clock = [*effects, *_clock_effects(runs, unit)]
    level = np.where(known, timed, y)
    return Strengths(lb, filter_effects(runs.day, runs.start, level, noise, clock, free, 3.0, newcomers="horse"))


def _clock_effects(runs: Starters, unit: float) -> list[Effect]:
    """Return a standard for each course and trip and an allowance for each card and surface."""
    standard = groups(runs.course, runs.surface, distance_band(runs))
    card: Ints = groups(runs.day, runs.course, runs.surface)
    return [
        Effect("standard", standard[runs.race], 6000.0 * unit**2 / 1.35**2),
        Effect("card", card[runs.race], 60.0 * unit**2 / 1.35**2),
    ]
