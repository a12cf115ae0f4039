"""The compiled walk against exact Gaussian conditioning done with dense matrices."""

import numpy as np
import pytest

from upsides.condition.monitoring import places as of
from upsides.condition.monitoring.days import walk
from upsides.condition.monitoring.effects import solve, variance_of
from upsides.condition.monitoring.steps import carry, grown, learn_reading

V = np.zeros(of.VALUES)
V[[of.NOISE, of.PASS_VARIANCE, of.PASS_DAYS, of.WALK, of.CENTRE, of.BETWEEN]] = 1.3, 0.9, 4.0, 0.02, 10.0, 6.0
V[[of.GROWTH, of.GROWTH_VARIANCE, of.YARD, of.BARN, of.NEW_DEVICE, of.DEVICE_WALK]] = 0.05, 0.001, 0.5, 0.3, 4.0, 0.01
V[[of.SINGLE, of.WIDTH, of.LIMIT, of.G_SINGLE, of.G_WIDTH, of.G_LIMIT]] = 1e9


def conditioned(
    prior: np.ndarray, design: np.ndarray, noise: np.ndarray, y: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Return mean and covariance of x ~ N(0, prior) given y = design x + N(0, noise).

    The conditional of a joint normal: Rasmussen and Williams 2006, appendix A.2.
    """
    gain = prior @ design.T @ np.linalg.inv(design @ prior @ design.T + np.diag(noise))
    return gain @ y, prior - gain @ design @ prior


def test_a_horses_state_is_exact() -> None:
    """After readings at uneven gaps usual and passing part have the mean and variance of exact conditioning.

    The horse is young, so that its usual grows at a rate that has to be learned too.
    """
    rng = np.random.default_rng(2)
    day = np.cumsum(rng.integers(1, 12, 14)).astype(float) + 20_000
    foaled, y, sd2 = day[0] - 800.0, 10 + rng.normal(0, 1, 14), rng.uniform(0, 1, 14)
    horse = np.full(of.STATE, np.nan)
    for at, value, extra in zip(day, y, sd2, strict=True):
        carry(horse, at, foaled, V)
        learn_reading(horse, value - horse[of.USUAL] - horse[of.PASSING], 0.0, extra, V)
    w = np.array([grown(at - foaled) - grown(day[0] - foaled) for at in day])
    walked = np.minimum.outer(day - day[0], day - day[0]) * V[of.WALK]
    usual = V[of.BETWEEN] + walked + np.outer(w, w) * V[of.GROWTH_VARIANCE]
    passing = V[of.PASS_VARIANCE] * np.exp(-np.abs(np.subtract.outer(day, day)) / V[of.PASS_DAYS])
    prior = np.block([[usual, np.zeros_like(usual)], [np.zeros_like(usual), passing]])
    mean, cov = conditioned(prior, np.hstack([np.eye(14), np.eye(14)]), V[of.NOISE] + sd2, y - 10 - V[of.GROWTH] * w)
    assert horse[of.USUAL] == pytest.approx(10 + V[of.GROWTH] * w[-1] + mean[13], abs=1e-10)
    assert horse[of.PASSING] == pytest.approx(mean[27], abs=1e-10)
    assert horse[of.UU] == pytest.approx(cov[13, 13], abs=1e-10)
    assert horse[of.PP] == pytest.approx(cov[27, 27], abs=1e-10)
    assert horse[of.UP_] == pytest.approx(cov[13, 27], abs=1e-10)


def test_growth_ends_at_five() -> None:
    """Growth is at its rate until three years, falls in a straight line to nought at five, and is then over."""
    ages = np.arange(0.0, 2600.0)
    rate = np.clip((1825.0 - ages - 0.5) / 730.0, 0.0, 1.0)
    whole = np.array([grown(age) for age in ages])
    assert np.diff(whole) == pytest.approx(rate[:-1], abs=1e-9)


def test_effects_of_a_day_are_exact() -> None:
    """Where no reading is far off, yard, barns and devices have mean and covariance of exact conditioning."""
    rng = np.random.default_rng(4)
    n = 40
    column = np.column_stack([rng.integers(1, 4, n), rng.integers(4, 7, n)])
    column[:3, 0], column[2:5, 1] = -1, -1
    design = np.zeros((n, 7))
    design[:, 0] = 1.0
    for i in range(n):
        design[i, [c for c in column[i] if c >= 0]] = 1.0
    prior, s = rng.uniform(0.2, 2.0, 7), rng.uniform(0.5, 3.0, n)
    r = 0.1 * rng.normal(0, 1, n)
    effect, inverse = solve(r, s, column, prior, np.empty(n))
    mean, cov = conditioned(np.diag(prior), design, s, r)
    assert effect[:, 0] == pytest.approx(mean, abs=1e-10)
    assert inverse == pytest.approx(cov, abs=1e-10)
    x = design[7]
    assert variance_of(inverse, *column[7]) == pytest.approx(x @ cov @ x, abs=1e-10)


def test_a_reading_does_not_explain_itself() -> None:
    """On a first day each horse is as far off as exact conditioning on all other readings says."""
    rng = np.random.default_rng(6)
    n, barns = 12, 3
    barn, device = np.arange(n) % barns, np.arange(n) % 2
    y = 10.0 + 0.3 * rng.normal(0, 1, n)
    told, groups = np.zeros((n, of.TOLD)), np.zeros((10, of.G_TOLD))
    levels = np.zeros((1 + barns + 2, of.DEVICE))
    levels[:, of.LEVEL_DAY] = np.nan
    walk(
        barns, np.arange(n), barn, device, np.full(n, 20_000), y, np.zeros(n), np.full(n, np.nan), V,
        np.full((n, of.STATE), np.nan), np.zeros((n, of.CHART)), levels, np.zeros((levels.shape[0], of.CHART)), told,
        groups, 0,
    )  # fmt: skip
    design = np.zeros((n, 6))
    design[np.arange(n), 0] = design[np.arange(n), 1 + barn] = design[np.arange(n), 4 + device] = 1.0
    prior = np.diag([V[of.YARD], *[V[of.BARN]] * 3, *[V[of.NEW_DEVICE]] * 2])
    own = V[of.BETWEEN] + V[of.PASS_VARIANCE] + V[of.NOISE]
    for i in range(n):
        rest = np.arange(n) != i
        mean, cov = conditioned(prior, design[rest], np.full(n - 1, own), y[rest] - 10.0)
        expected, variance = 10.0 + design[i] @ mean, own + design[i] @ cov @ design[i]
        assert told[i, of.EXPECTED] == pytest.approx(expected, abs=1e-10)
        assert told[i, of.Z] == pytest.approx((y[i] - expected) / np.sqrt(variance), abs=1e-10)


def test_one_wild_reading_moves_nobody_else() -> None:
    """A reading a hundred standard deviations off moves the others' expectations by less than a third of one."""
    n = 20
    y = np.full(n, 10.0)
    expected = []
    for wild in (0.0, 300.0):
        y[0] = 10.0 + wild
        told, groups = np.zeros((n, of.TOLD)), np.zeros((4, of.G_TOLD))
        levels = np.full((2, of.DEVICE), np.nan)
        levels[:, of.LEVEL] = 0.0
        walk(
            1, np.arange(n), np.zeros(n, dtype=np.int64), np.full(n, -1), np.full(n, 20_000), y, np.zeros(n),
            np.full(n, np.nan), V, np.full((n, of.STATE), np.nan), np.zeros((n, of.CHART)), levels,
            np.zeros((2, of.CHART)), told, groups, 0,
        )  # fmt: skip
        expected.append(told[1:, of.EXPECTED])
    sd = np.sqrt(V[of.BETWEEN] + V[of.PASS_VARIANCE] + V[of.NOISE])
    assert np.abs(expected[1] - expected[0]).max() < sd / 3.0


def test_a_tracker_of_ones_own_says_nothing() -> None:
    """Horses that each have a device to themselves are judged as if no device were written down."""
    rng = np.random.default_rng(9)
    horses, days = 8, 40
    horse, day = np.tile(np.arange(horses), days), np.repeat(np.arange(days), horses) + 20_000
    y = 10.0 + rng.normal(0, 1, horse.size)
    found = []
    for device in (np.full(horse.size, -1), horse):
        told, groups = np.zeros((horse.size, of.TOLD)), np.zeros((days * 12, of.G_TOLD))
        levels = np.zeros((2 + horses, of.DEVICE))
        levels[:, of.LEVEL_DAY] = np.nan
        walk(
            1, horse, np.zeros_like(horse), device, day, y, np.zeros(horse.size), np.full(horses, np.nan), V,
            np.full((horses, of.STATE), np.nan), np.zeros((horses, of.CHART)), levels,
            np.zeros((2 + horses, of.CHART)), told, groups, 0,
        )  # fmt: skip
        found.append(told)
    assert found[1] == pytest.approx(found[0], abs=1e-12)
