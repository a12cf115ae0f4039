"""From margins to pounds: what a length is worth, and how far a race's pace stretched or squeezed the field.

A race run slowly early ends in a sprint, and the field has no time to spread; a fast one strings it out. A
race's spread is therefore
compared with the spread usual at its trip: the part that early pace explains is taken out, and of the rest
as much as the number of runners makes believable.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

MOST_LENGTHS = 30.0
"""Beaten further counts as this: further back it says no more of a horse (common practice, no source)."""

FEWEST = 20
"""With fewer races of four known margins than this nothing is said about spread."""


@dataclass(frozen=True, slots=True)
class Spread:
    """How races spread.

    Attributes:
        factor: (races,) margins are divided by this; 1 is usual.
        pace_slope: log spread per unit of early pace (log ratio of usual to own early fraction of the time).
        pace_slope_se: its standard error.
        own_sd: standard deviation of a race's own log spread beyond pace.
    """

    factor: Floats
    pace_slope: float
    pace_slope_se: float
    own_sd: float


def race_spread(margin_lb: Floats, race: Ints, races: int, distance_m: Floats, pace: Floats) -> Spread:
    """Return each race's spread against what is usual.

    Args:
        margin_lb: (n,) pounds behind the winner, NaN where not known.
        race: (n,) race of each run.
        races: number of races.
        distance_m: (races,) distance, m.
        pace: (races,) early pace, 0 usual, NaN where not known.
    """
    log_sd, count = _log_spread(margin_lb, race, races)
    known = np.isfinite(log_sd)
    if known.sum() < FEWEST:
        return Spread(np.ones(races), 0.0, np.inf, 0.0)
    early = np.nan_to_num(pace)
    distance = np.log(distance_m)
    X = np.column_stack([np.ones(races), distance - distance[known].mean(), early, np.isnan(pace)])
    sampling = 0.75 / np.maximum(count - 1, 1)
    weight = known / (sampling + 0.03)
    A = X.T @ (weight[:, None] * X) + np.diag([0, 1e-6, 1e-6, 1e-6])
    beta = np.linalg.solve(A, X.T @ (weight * np.nan_to_num(log_sd)))
    left = np.where(known, np.nan_to_num(log_sd) - X @ beta, 0.0)
    own = max(float((left[known] ** 2 - sampling[known]).mean()), 0.0)
    believed = left * own / (own + sampling)
    factor = np.exp(np.clip(beta[2] * early + believed, -0.7, 0.7))
    return Spread(factor, float(beta[2]), float(np.sqrt(np.linalg.inv(A)[2, 2])), float(np.sqrt(own)))


def _log_spread(margin_lb: Floats, race: Ints, races: int) -> tuple[Floats, Floats]:
    """Return the log of each race's robust spread (NaN below four margins) and the number of margins."""
    known = np.isfinite(margin_lb)
    if not known.any():
        return np.full(races, np.nan), np.zeros(races)
    x, at = np.minimum(margin_lb[known], np.quantile(margin_lb[known], 0.98)), race[known]
    count = np.bincount(at, minlength=races).astype(np.float64)
    mean = np.bincount(at, x, races) / np.maximum(count, 1)
    square = np.bincount(at, (x - mean[at]) ** 2, races) / np.maximum(count - 1, 1)
    with np.errstate(divide="ignore"):
        log_sd = 0.5 * np.log(square)
    log_sd[(count < 4) | (square < 1e-6)] = np.nan
    return log_sd, count
