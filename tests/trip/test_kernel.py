"""What runs say of a horse, held against the dense normal density that it stands for."""

from datetime import date

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from upsides.trip import curve
from upsides.trip.case import Case, Known
from upsides.trip.defaults import defaults
from upsides.trip.population import Population, entered_log, evidence, integrated
from upsides.trip.posterior import draws, expected_figure
from upsides.trip.pulls import best_furlongs
from upsides.trip.runs import Runs
from upsides.trip.scale import GRID, STEP
from upsides.trip.shape import unlearned

P = Population(trip=3.0, trip_sd=0.3, ability=70.0, ability_sd=9.0, ridge=4.0, short=0.3, long=0.4, versatility=0.3,
               noise=0.7, late=0.6, usual=0.2, usual_slope=0.9, with_figure=0.03, late_sd=0.7, style_sd=0.5,
               passing=20.0, tau=120.0)  # fmt: skip


def _runs(seed: int, count: int = 7) -> Runs:
    rng = np.random.default_rng(seed)
    z = rng.normal(0.0, 1.0, count)
    z[1] = np.nan
    return Runs(["a"], np.array([0, count]), rng.normal(72, 6, count), rng.uniform(20, 60, count),
                rng.uniform(2.4, 3.4, count), z, np.cumsum(rng.integers(7, 60, count)).astype(float),
                np.full(count, np.nan), np.array([False]), np.array([""]))  # fmt: skip


def _dense(runs: Runs, d: float, stretch: float, today: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return mean, covariance and slope in the ability of (figures, late speeds, form today), ability 0."""
    n, here = runs.y.size, ~np.isnan(runs.z)
    c = curve.loss(runs.x - d, P.short * stretch, P.long * stretch)
    days = np.append(runs.day, today)
    form = P.passing * np.exp(-np.abs(days[:, None] - days[None, :]) / P.tau)
    noise = np.zeros((n + 1, n + 1))
    noise[:n, :n] = P.noise * np.diag(runs.variance)
    whole = form + noise
    # late speed depends on the run's own surprise: k (b + e), which is all of (y + c - a)
    k = P.with_figure
    late = k * whole[:n][here]
    own = k**2 * whole[:n, :n][np.ix_(here, here)] + P.late_sd**2 * np.eye(here.sum()) + P.style_sd**2
    covariance = np.block([[whole[:n, :n], late[:, :n].T, whole[:n, n:]], [late[:, :n], own, late[:, n:]],
                           [whole[n:, :n], late[:, n:].T, whole[n:, n:]]])  # fmt: skip
    mean = np.concatenate([-c, P.late * (d - P.usual - P.usual_slope * runs.x[here]), [0.0]])
    return mean, covariance, np.concatenate([np.ones(n), np.zeros(here.sum()), [0.0]])


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_evidence_is_the_normal_density(seed: int) -> None:
    """With the ability integrated out, the evidence is the density of figures and late speeds as one normal (scipy)."""
    runs = _runs(seed)
    said = integrated(evidence(runs, P, np.zeros(1)), np.array([[[P.ability]]]), P.ability_sd**2)[0]
    seen = np.concatenate([runs.y, runs.z[~np.isnan(runs.z)]])
    for g, w in ((3, 0), (20, 2), (31, 4), (58, 1)):
        mean, covariance, slope = _dense(runs, GRID[g], P.stretch[w], 0.0)
        mean, covariance, slope = mean[:-1], covariance[:-1, :-1], slope[:-1]
        whole = covariance + P.ability_sd**2 * np.outer(slope, slope)
        dense = multivariate_normal(mean + P.ability * slope, whole).logpdf(seen)
        constant = -0.5 * seen.size * np.log(2 * np.pi)
        assert said[g, w] == pytest.approx(dense - constant, abs=1e-8)


def test_form_today_is_the_normal_conditional() -> None:
    """Form today, given trip, versatility and ability, has the mean and variance of the normal conditional."""
    runs, today = _runs(4), 500.0
    found = evidence(runs, P, np.array([today]))
    mean, covariance, slope = _dense(runs, GRID[25], P.stretch[3], today)
    n, a = runs.y.size, 66.0
    gain = covariance[-1, :n] @ np.linalg.inv(covariance[:n, :n])
    assert found.now[0, 25, 3] - a * found.about_now[0, 0] == pytest.approx(
        gain @ (runs.y - mean[:n] - a * slope[:n]), abs=1e-8
    )
    assert found.about_now[0, 1] == pytest.approx(covariance[-1, -1] - gain @ covariance[:n, -1], abs=1e-8)


def _case(seed: int) -> Case:
    given = defaults(date(2026, 1, 1))
    return Case(P, given, (P.ability, P.trip), Known(), _runs(seed), 400.0, unlearned(given))


def test_the_answer_is_what_brute_force_gives() -> None:
    """Mean trip and ability agree with importance sampling from the prior, to four standard errors."""
    case, rng, count = _case(5), np.random.default_rng(0), 40_000
    case = Case(P, case.given, case.centre, case.known, case.runs.without_sections(), case.day, case.reading)
    d = rng.normal(P.trip, P.trip_sd, count)
    a = P.ability + P.ridge * (d - P.trip) + P.ability_sd * rng.standard_normal(count)
    stretch = P.stretch[rng.choice(5, count, p=curve.WEIGHTS)]
    runs = case.runs
    days = runs.day
    V = P.passing * np.exp(-np.abs(days[:, None] - days[None, :]) / P.tau) + P.noise * np.diag(runs.variance)
    off = runs.y - a[:, None] + curve.loss(runs.x - d[:, None], P.short * stretch[:, None], P.long * stretch[:, None])
    log = -0.5 * ((off @ np.linalg.inv(V)) * off).sum(axis=1)
    weight = np.exp(log - log.max())
    weight /= weight.sum()
    post = case.answer({"runs"})
    for sampled, ours in ((d, post.density @ GRID), (a, (post.weight * post.ability).sum())):
        mean = weight @ sampled
        error = np.sqrt(weight**2 @ (sampled - mean) ** 2)
        assert abs(ours - mean) < 4 * error + 0.02 * STEP, (ours, mean, error)


def test_joint_draws_are_the_posterior() -> None:
    """Draws have the posterior's trips and, over any distance, the expected figure's mean and spread, to 4 errors."""
    post = _case(6).answer()
    drawn = draws(post, 20_000, seed=1)
    share = (drawn.trip < 3.0).mean()
    assert share == pytest.approx(post.density[GRID < 3.0].sum(), abs=0.03)
    for x in (2.6, 3.0, 3.4):
        mean, sd = expected_figure(post, np.array([x]))
        shown = drawn.figure(x)
        assert abs(shown.mean() - mean[0]) < 4 * sd[0] / np.sqrt(shown.size) + 0.1
        assert shown.std() == pytest.approx(sd[0], rel=0.05)


def test_trip_and_ability_share_a_ridge() -> None:
    """A horse seen over one distance is best there, or better and best elsewhere: draws hold both together."""
    rng = np.random.default_rng(2)
    runs = Runs(["a"], np.array([0, 6]), rng.normal(75, 3, 6), np.full(6, 30.0), np.full(6, 3.0), np.full(6, np.nan),
                np.arange(6) * 20.0, np.full(6, np.nan), np.array([False]), np.array([""]))  # fmt: skip
    given = defaults(date(2026, 1, 1))
    drawn = draws(Case(P, given, (70.0, 3.0), Known(), runs, 120.0, unlearned(given)).answer({"runs"}), 8000, seed=3)
    assert np.corrcoef(np.abs(drawn.trip - 3.0), drawn.level)[0, 1] > 0.3


def test_where_it_is_run_counts_less_than_it_says() -> None:
    """Where people ran a horse pulls its trip that way, and no run of its own is needed for the pull to be bounded."""
    case = _case(7)
    there = float(np.exp2(GRID[int(np.argmax(entered_log(case.runs, P)[0]))]))
    alone, plain = best_furlongs(case.answer({"entries"})), best_furlongs(case.answer(()))
    assert min(plain, there) - 0.1 <= alone <= max(plain, there) + 0.1
