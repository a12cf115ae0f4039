"""A horse's best trip and ability from all its evidence together, on the grid of trips and versatilities."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.trip import curve
from upsides.trip.population import Evidence, Population
from upsides.trip.prior import Mixture
from upsides.trip.scale import GRID, STEP

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Posterior:
    """What is thought of one horse.

    Attributes:
        p: the population.
        weight: (parts, trips, versatilities) shares, together 1.
        ability: (parts, trips, versatilities) mean ability given the rest, lb.
        variance: likewise its variance, lb^2.
        form: (trips, versatilities) form today if the ability were 0, lb,
        form_slope: what a pound of ability takes from it, and
        form_variance: its variance given the ability, lb^2.
        moved: octaves by which age has moved the trip from what it is at four.
        runs: runs that went in.
    """

    p: Population
    weight: Floats
    ability: Floats
    variance: Floats
    form: Floats
    form_slope: float
    form_variance: float
    moved: float = 0.0
    runs: int = 0

    @property
    def density(self) -> Floats:
        """Shares of the trips of GRID."""
        return np.asarray(self.weight.sum(axis=(0, 2)))

    @property
    def grid(self) -> Floats:
        """Best trips today, octaves."""
        return np.asarray(GRID + self.moved)


def posterior(
    p: Population, before: Mixture, e: Evidence | None, horse: int, others: Floats, *, moved: float = 0.0, runs: int = 0
) -> Posterior:
    """Return the posterior.

    Args:
        p: the population.
        before: the prior of ability and trip.
        e: what runs say, or None where they are not asked.
        horse: which horse of `e`.
        others: (trips,) log-likelihood of everything else that speaks of the trip.
        moved: octaves that age has moved the trip.
        runs: how many runs went in.
    """
    trip, over = before.mean[:, 1, None], before.covariance[:, 1, 1, None]
    slope = before.covariance[:, 0, 1, None] / over
    log = np.log(before.weight + 1e-300)[:, None] - 0.5 * (GRID - trip) ** 2 / over - 0.5 * np.log(over)
    ability = (before.mean[:, 0, None] + slope * (GRID - trip))[:, :, None]
    left = (before.covariance[:, 0, 0, None] - slope**2 * over)[:, :, None]
    log = (log + others)[:, :, None] + np.log(curve.WEIGHTS)
    shape = log.shape
    if e is None:
        weight = _shares(log)
        none = np.zeros(shape[1:])
        whole = (np.broadcast_to(ability, shape), np.broadcast_to(left, shape))
        return Posterior(p, weight, *whole, none, 0.0, p.passing, moved, 0)
    precision = e.A[horse] + 1.0 / left
    both = e.B[horse] + ability / left
    log = log + e.C[horse] + 0.5 * (both**2 / precision - ability**2 / left - np.log(left * precision))
    slope_now, variance_now = e.about_now[horse]
    return Posterior(
        p, _shares(log), both / precision, np.broadcast_to(1.0 / precision, shape), e.now[horse],
        float(slope_now), float(variance_now), moved, runs,
    )  # fmt: skip


def _shares(log: Floats) -> Floats:
    weight = np.exp(log - log.max())
    return np.asarray(weight / weight.sum())


def expected_figure(post: Posterior, demand: Floats) -> tuple[Floats, Floats]:
    """Return the mean and the standard deviation of the horse's figure today at demands (octaves), (n,) lb each.

    The deviation is of what the horse would show on the day without luck: add a run's own error for a single run.
    """
    p, keep = post.p, 1.0 - post.form_slope
    base = keep * post.ability + post.form
    spread = keep**2 * post.variance + post.form_variance
    mean, variance = np.empty(demand.size), np.empty(demand.size)
    for k, x in enumerate(demand):
        lost = curve.loss(x - post.grid[:, None], p.short * p.stretch, p.long * p.stretch)
        at = base - lost
        mean[k] = (post.weight * at).sum()
        variance[k] = (post.weight * (spread + (at - mean[k]) ** 2)).sum()
    return mean, np.sqrt(variance)


@dataclass(frozen=True, slots=True)
class Draws:
    """Joint draws of one horse, (draws,) each: trip (octaves), level today at the best trip (lb), widths (octaves)."""

    trip: Floats
    level: Floats
    short: Floats
    long: Floats

    def figure(self, demand: float) -> Floats:
        """Return what each draw would show at a demand, lb."""
        return self.level - curve.loss(demand - self.trip, self.short, self.long)


def draws(post: Posterior, count: int, seed: int) -> Draws:
    """Return joint draws: what one number hides (a better horse over another trip) is passed on."""
    rng = np.random.default_rng(seed)
    flat = rng.choice(post.weight.size, count, p=post.weight.ravel())
    part, trip, node = np.unravel_index(flat, post.weight.shape)
    ability = rng.normal(post.ability[part, trip, node], np.sqrt(post.variance[part, trip, node]))
    form = rng.normal(post.form[trip, node] - post.form_slope * ability, np.sqrt(post.form_variance))
    at = post.grid[trip] + rng.uniform(-STEP / 2, STEP / 2, count)
    stretch = post.p.stretch[node]
    return Draws(at, ability + form, post.p.short * stretch, post.p.long * stretch)
