"""Walk forward: refit on what was known, predict the next stretch of days."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from upsides.errors import CannotFitError
from upsides.errors.wording import gettext as _
from upsides.ratings.choice import fit_choice
from upsides.ratings.forecast.starters import Floats, Starters


@dataclass(frozen=True, slots=True)
class Plan:
    """How the second stage is fitted.

    Attributes:
        ridge: prior precision of each coefficient of a standardised term.
        place_weights: weight of first, second, third place in the likelihood.
        place_powers: exponent of the chances at each of these places.
        half_life_days: age at which a race counts for half.
        refit_days: days between refits.
        burn_in_races: first races, used for levels only.
        burn_in_share: burn-in is at most one in so many of the known races.
        most_sd: terms are clipped at this many standard deviations.
    """

    ridge: float = 60.0
    place_weights: tuple[float, ...] = (1.0, 0.7, 0.5)
    place_powers: tuple[float, ...] = (1.0, 0.9, 0.8)
    half_life_days: float = 700.0
    refit_days: int = 60
    burn_in_races: int = 400
    burn_in_share: int = 4
    most_sd: float = 6.0


@dataclass(frozen=True, slots=True)
class Coefficients:
    """A fitted second stage: coefficient of each standardised term, its covariance, and the terms' scales."""

    beta: Floats
    covariance: Floats
    sd: Floats
    most_sd: float

    def utility(self, x: Floats) -> Floats:
        """Return the utility of runs with terms `x`, shape (runs, terms)."""
        return np.clip(x / self.sd, -self.most_sd, self.most_sd) @ self.beta


def fit_until(runs: Starters, x: Floats, day: int, plan: Plan, guess: Floats | None = None) -> Coefficients:
    """Fit the second stage to all races before `day` (after the burn-in).

    Raises:
        CannotFitError: no race with a known winner was run before that day.
    """
    known = int(np.searchsorted(runs.day, day))
    burn = min(plan.burn_in_races, known // plan.burn_in_share)
    a, b = runs.start[burn], runs.start[known]
    if b - a < 2:
        raise CannotFitError("chances", _("no race was run before the first day asked for"), _("choose a later day"))
    sd = x[a:b].std(axis=0)
    sd = np.where(sd > 1e-9, sd, 1.0)
    age = (day - runs.day[burn:known]).astype(np.float64)
    fit = fit_choice(
        np.clip(x[a:b] / sd, -plan.most_sd, plan.most_sd),
        runs.start[burn : known + 1] - a,
        runs.position[a:b],
        place_weights=plan.place_weights,
        place_powers=plan.place_powers,
        race_weight=0.5 ** (age / plan.half_life_days),
        prior_precision=plan.ridge,
        start=guess,
        tolerance=1e-8,
    )
    return Coefficients(fit.coefficients, fit.covariance, sd, plan.most_sd)


def walk(
    runs: Starters,
    x: Floats,
    first_race: int,
    last_race: int,
    plan: Plan,
    progress: Callable[[float], None] = lambda _share: None,
) -> tuple[Floats, list[Coefficients]]:
    """Return utilities for races first_race..last_race (exclusive; NaN elsewhere) and every refit.

    Each stretch of `plan.refit_days` days is predicted by a fit to earlier days only.
    """
    out = np.full(runs.horse.size, np.nan)
    fits: list[Coefficients] = []
    at = first_race
    while at < last_race:
        day = int(runs.day[at])
        until = min(int(np.searchsorted(runs.day, day + plan.refit_days)), last_race)
        fits.append(fit_until(runs, x, day, plan, fits[-1].beta if fits else None))
        a, b = runs.start[at], runs.start[until]
        out[a:b] = fits[-1].utility(x[a:b])
        at = until
        progress((at - first_race) / (last_race - first_race))
    return out, fits
