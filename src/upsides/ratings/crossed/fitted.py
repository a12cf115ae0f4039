"""What a fit of race and horse levels tells: levels, standard deviations, and how sure each is."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from upsides.ratings.crossed.likelihood import Point
from upsides.ratings.crossed.table import CrossedTable

Floats = NDArray[np.float64]
NAMES = ("race", "horse", "residual")


@dataclass(frozen=True, slots=True)
class CrossedFit:
    """Levels of races and horses, with their standard errors.

    Attributes:
        beta: (p,) fixed effects: intercept first when races are random, then the columns of X; `beta_se`
            likewise.
        sd_race, sd_horse, sd_residual: standard deviations in the unit of y; `sd_race` is nan when races are
            fixed.
        sd_race_se, sd_horse_se, sd_residual_se: their standard errors from the observed information; nan
            where a variance was given, is fixed, or is nothing.
        deviance: -2 log likelihood, restricted unless asked otherwise.
        races, horses: the labels, sorted.
        race: (races,) level of each race beside the intercept (the whole level when races are fixed).
        race_se: (races,) standard error of prediction.
        horse: (horses,) level of each horse beside the average horse.
        horse_se: (horses,) standard error of prediction.
        horse_reliability: (horses,) `1 - horse_se^2 / sd_horse^2`; 0 when horses do not differ.
        iterations: evaluations of the likelihood.
        converged: whether the slope vanishes and the surface bends down (first and second order).
        exact: whether everything was computed without random probes.
        sd_race_mc, sd_horse_mc, sd_residual_mc, deviance_mc: Monte Carlo standard errors; 0 when exact. When
            not exact, standard errors of levels are approximate too: see `fit_crossed`.
    """

    beta: Floats
    beta_se: Floats
    sd_race: float
    sd_horse: float
    sd_residual: float
    sd_race_se: float
    sd_horse_se: float
    sd_residual_se: float
    deviance: float
    races: NDArray[Any]
    horses: NDArray[Any]
    race: Floats
    race_se: Floats
    horse: Floats
    horse_se: Floats
    horse_reliability: Floats
    iterations: int
    converged: bool
    exact: bool
    sd_race_mc: float
    sd_horse_mc: float
    sd_residual_mc: float
    deviance_mc: float


def crossed_fit(
    table: CrossedTable,
    point: Point,
    free: NDArray[np.bool_],
    iterations: int,
    *,
    converged: bool,
    exact: bool,
) -> CrossedFit:
    """Gather a fit from the likelihood's point where it ended.

    Args:
        table: the runs.
        point: the likelihood there.
        free: (3,) which of the variances (race, horse, residual) were estimated and are not nothing.
        iterations: evaluations of the likelihood made.
        converged: whether the climb ended well.
        exact: whether nothing rests on random probes.
    """
    sds = np.sqrt(np.append(point.ratios, 1.0) * point.residual)
    sds[0] = np.nan if table.races_fixed else sds[0]
    sd_se, sd_mc = _errors_of_sds(point, free, sds)
    fixed: Floats = np.linalg.inv(point.covariates.remaining).astype(np.float64)
    race, horse = table.by_label(point.effects.outer[:, 0], point.effects.inner[:, 0])
    race_se, horse_se = table.by_label(*_errors_of_levels(point, fixed))
    unknown = (horse_se / sds[1]) ** 2 if sds[1] > 0 else np.ones(horse.size)
    return CrossedFit(
        beta=point.effects.beta[:, 0],
        beta_se=np.sqrt(np.diag(fixed) * point.residual),
        **{f"sd_{name}": float(sd) for name, sd in zip(NAMES, sds, strict=True)},
        **{f"sd_{name}_se": float(se) for name, se in zip(NAMES, sd_se, strict=True)},
        deviance=point.deviance,
        races=table.races,
        horses=table.horses,
        race=race,
        race_se=race_se,
        horse=horse,
        horse_se=horse_se,
        horse_reliability=1.0 - unknown,
        iterations=iterations,
        converged=converged,
        exact=exact,
        **{f"sd_{name}_mc": float(mc) for name, mc in zip(NAMES, sd_mc, strict=True)},
        deviance_mc=point.deviance_noise,
    )


def _errors_of_sds(point: Point, free: NDArray[np.bool_], sds: Floats) -> tuple[Floats, Floats]:
    """Return standard errors and Monte Carlo errors of the standard deviations."""
    error, chance = np.full(3, np.nan), np.zeros(3)
    both = np.ix_(free, free)
    information = point.observed[both]
    if free.any() and np.linalg.eigvalsh(information)[0] > 0:
        inverse = np.linalg.inv(information)
        error[free] = sds[free] / 2 * np.sqrt(np.diag(inverse))
        chance[free] = sds[free] / 2 * np.sqrt(np.diag(inverse @ point.slope_noise[both] @ inverse))
    return error, chance


def _errors_of_levels(point: Point, fixed: Floats) -> tuple[Floats, Floats]:
    """Return standard errors of prediction (outer, inner), the covariates' uncertainty included."""
    s, lean = point.scales, point.covariates
    outer = point.spread.outer + np.einsum("ij,jk,ik->i", lean.outer, fixed, lean.outer)
    inner = point.spread.inner + np.einsum("ij,jk,ik->i", lean.inner, fixed, lean.inner)
    return s.outer * np.sqrt(point.residual * outer), s.inner * np.sqrt(point.residual * inner)
