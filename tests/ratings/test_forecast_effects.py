"""The filter of crossed effects against exact Gaussian conditioning done with dense matrices."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from upsides.ratings.forecast.effects import Effect, Filtered, filter_effects

NEVER = 1e9
"""A clip that no innovation reaches."""


def condition(prior: np.ndarray, design: np.ndarray, noise: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return mean and covariance of x ~ N(0, prior) given y = design x + N(0, noise)."""
    # The conditional of a joint normal: any textbook, e.g. Rasmussen & Williams (2006), appendix A.2.
    gain = prior @ design.T @ np.linalg.inv(design @ prior @ design.T + noise)
    return gain @ y, prior - gain @ design @ prior


def exact(slots: list[np.ndarray], scales: list[np.ndarray], variances: list[float], race_variance: float,
          race: np.ndarray, noise: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:  # fmt: skip
    """Return mean and variance of every effect that never changes, kind after kind, from all runs at once."""
    blocks, prior = [], []
    for slot, scale, variance in zip(slots, scales, variances, strict=True):
        block = np.zeros((y.size, slot.max() + 1))
        block[np.arange(y.size), slot] = scale
        blocks.append(block)
        prior += [variance] * block.shape[1]
    same_race = race[:, None] == race[None, :]
    mean, cov = condition(np.diag(prior), np.hstack(blocks), np.diag(noise) + race_variance * same_race, y)
    return mean, np.diag(cov)


def offsets(race: np.ndarray) -> np.ndarray:
    return np.concatenate([[0], np.cumsum(np.bincount(race))])


def after(history: np.ndarray, slots: list[np.ndarray], last: np.ndarray, values: np.ndarray) -> tuple[np.ndarray, ...]:
    """Append one race on a later day in which `last` (codes of the first kind) run, to read the state from."""
    race = np.concatenate([history, np.full(last.size, history.max() + 1)])
    first = np.concatenate([slots[0], last])
    return race, first, np.concatenate([values, np.full(last.size, np.nan)])


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000))
def test_one_race_is_exact(seed: int) -> None:
    """After one race every effect has the mean and variance of exact conditioning: shared, scaled, crossed ones too."""
    rng = np.random.default_rng(seed)
    n, race = 6, np.zeros(6, dtype=np.int64)
    slots = [np.arange(n), rng.integers(0, 3, n), np.zeros(n, dtype=np.int64)]
    slots[1][:3] = [0, 1, 2]
    scales = [np.ones(n), np.ones(n), rng.normal(size=n)]
    variances, noise, y = [3.0, 2.0, 1.5], rng.uniform(0.5, 4, n), rng.normal(0, 5, n)
    want_mean, want_variance = exact(slots, scales, variances, 40.0, race, noise, y)
    twice = [np.concatenate([s, s]) for s in slots]
    effects = [
        Effect(name, code, variance, np.inf, np.concatenate([scale, scale]))
        for name, code, variance, scale in zip("abc", twice, variances, scales, strict=True)
    ]
    got = filter_effects(
        np.array([10, 20]), np.array([0, n, 2 * n]), np.concatenate([y, y]), np.concatenate([noise, noise]), effects,
        40.0, NEVER,
    )  # fmt: skip
    begin = 0
    for k, slot in enumerate(slots):
        np.testing.assert_allclose(got.mean[n:, k], want_mean[begin:][slot], atol=1e-9)
        np.testing.assert_allclose(got.variance[n:, k], want_variance[begin:][slot], atol=1e-9)
        begin += slot.max() + 1


def run_horses(race: np.ndarray, horse: np.ndarray, y: np.ndarray, noise: float, variance: float) -> Filtered:
    return filter_effects(
        10 * np.arange(race.max() + 1), offsets(race), y, np.full(y.size, noise), [Effect("horse", horse, variance)],
        100.0, NEVER,
    )  # fmt: skip


def test_horses_that_never_meet_again_are_exact() -> None:
    """Across races the state is exact as long as nobody meets a horse that it has met before, however indirectly."""
    race = np.repeat([0, 1, 2], 3)
    horse = np.array([0, 1, 2, 0, 3, 4, 3, 5, 6])
    y = np.array([4.0, -1, -3, 2, 0, -2, 6, -5, -1])
    mean, variance = exact([horse], [np.ones(9)], [9.0], 100.0, race, np.full(9, 4.0), y)
    again, who, values = after(race, [horse], np.array([3, 5, 6]), y)
    got = run_horses(again, who, values, 4.0, 9.0)
    np.testing.assert_allclose(got.mean[9:, 0], mean[[3, 5, 6]], atol=1e-9)
    np.testing.assert_allclose(got.variance[9:, 0], variance[[3, 5, 6]], atol=1e-9)


@pytest.mark.parametrize("seed", range(5))
def test_meeting_again_costs_little(seed: int) -> None:
    """Where the same horses meet again and again the state stays within half of the exact posterior's error."""
    rng = np.random.default_rng(seed)
    race = np.repeat(np.arange(12), 5)
    horse = np.concatenate([rng.choice(15, 5, replace=False) for _ in range(12)])
    horse = np.unique(horse, return_inverse=True)[1].astype(np.int64)
    y = rng.normal(0, 3, horse.max() + 1)[horse] + rng.normal(0, 2, race.size)
    mean, variance = exact([horse], [np.ones(60)], [9.0], 100.0, race, np.full(60, 4.0), y)
    everyone = np.arange(horse.max() + 1)
    again, who, values = after(race, [horse], everyone, y)
    got = run_horses(again, who, values, 4.0, 9.0)
    off = np.abs(got.mean[60:, 0] - mean) / np.sqrt(variance)
    assert np.sqrt(np.mean(off**2)) < 0.5
    assert np.corrcoef(got.mean[60:, 0], mean)[0, 1] > 0.97


def test_a_single_effect_is_an_ornstein_uhlenbeck_regression() -> None:
    """One effect seen with gaps has the mean and variance of regression on its stated covariance."""
    # v exp(-|s - t| / tau) and its prediction: Rasmussen & Williams (2006), sections 4.2.1 and 2.2.
    day = np.array([0, 3, 10, 40, 41, 200, 260])
    y = np.array([3.0, 1.0, -2.0, 5.0, 4.0, 1.0, 0.0])
    v, tau, noise = 6.0, 50.0, 2.5
    code = np.column_stack([np.zeros(7), np.full(7, -1)]).astype(np.int64).ravel()
    values = np.column_stack([y, np.zeros(7)]).ravel()
    got = filter_effects(
        day, np.arange(0, 15, 2), values, np.full(14, noise), [Effect("x", code, v, tau)], 1e-12, NEVER
    )
    for k in range(1, 7):
        cov = v * np.exp(-np.abs(day[: k + 1, None] - day[None, : k + 1]) / tau)
        gain = cov[k, :k] @ np.linalg.inv(cov[:k, :k] + noise * np.eye(k))
        assert got.of("x")[2 * k] == pytest.approx(gain @ y[:k], abs=1e-9)
        assert got.variance_of("x")[2 * k] == pytest.approx(v - gain @ cov[:k, k], abs=1e-9)


def test_errors_are_against_the_morning_of_the_day() -> None:
    """A run's error is its value less what was expected that morning, less the race's own share."""
    race, horse = np.array([0, 0, 1, 1]), np.array([0, 1, 0, 1])
    y = np.array([4.0, 0.0, 1.0, 0.0])
    got = run_horses(race, horse, y, 4.0, 9.0)
    gap = y[2:] - got.mean[2:, 0]
    share = gap.sum() / 2 * (2 * 100.0) / (got.variance[2, 0] + 4.0 + 2 * 100.0)
    np.testing.assert_allclose(got.error[2:], gap - share, atol=1e-9)


def test_nothing_of_a_day_is_known_on_it() -> None:
    """In the day's second race horses stand where they stood in the morning; the next day both races count."""
    horse = np.array([0, 1, 0, 1, 0, 1])
    effects = [Effect("horse", horse, 9.0), Effect("form", horse, 4.0, 60.0)]
    y = np.array([8.0, 0.0, 6.0, 0.0, 0.0, 0.0])
    same = filter_effects(np.array([5, 5, 6]), np.array([0, 2, 4, 6]), y, np.full(6, 4.0), effects)
    np.testing.assert_array_equal(same.mean[2:4], same.mean[:2])
    np.testing.assert_array_equal(same.variance[2:4], same.variance[:2])
    np.testing.assert_allclose(same.error[2:4], [3.0, -3.0], atol=1e-4)
    apart = filter_effects(np.array([5, 6]), np.array([0, 2, 4]), y[2:], np.full(4, 4.0), [
        Effect("horse", horse[:4], 9.0), Effect("form", horse[:4], 4.0, 60.0)
    ])  # fmt: skip
    assert same.mean[4, 0] > apart.mean[2, 0] > 0


def test_a_newcomer_on_a_day_stays_one_all_day() -> None:
    """A horse first seen in the day's first race is a newcomer in the second one too."""
    horse = np.array([0, 1, 0, 2, 0, 2])
    y = np.array([8.0, 0.0, 5.0, 1.0, 3.0, 1.0])
    args = (np.array([1, 5, 5]), np.array([0, 2, 4, 6]))
    got = filter_effects(*args, y, np.full(6, 4.0), [Effect("horse", horse, 9.0)], newcomers="horse")
    assert got.mean[5, 0] == got.mean[3, 0] == pytest.approx(got.mean[4, 0])


def test_newcomers_start_among_their_company() -> None:
    """A newcomer's first mean is that of the known runners, each counted by 1 / (1 + its variance)."""
    horse = np.array([0, 1, 2, 0, 1, 3])
    y = np.array([6.0, 1.0, -4.0, 0.0, 0.0, 0.0])
    args = (np.array([1, 20]), np.array([0, 3, 6]), y, np.array([1.0, 4, 4, 4, 4, 4]))
    got = filter_effects(*args, [Effect("horse", horse, 9.0)], newcomers="horse")
    weight = 1 / (1 + got.variance[3:5, 0])
    assert got.mean[5, 0] == pytest.approx(weight @ got.mean[3:5, 0] / weight.sum())
    assert got.variance[5, 0] == 9.0


def test_an_innovation_is_clipped() -> None:
    """Beyond the clip a further length changes nothing more."""
    horse, args = np.array([0, 1, 0, 1]), (np.array([1, 20]), np.array([0, 2, 4]))
    means = [
        filter_effects(*args, np.array([y, -y, 0, 0]), np.full(4, 4.0), [Effect("horse", horse, 9.0)], 1e6, 2.0).mean
        for y in (1.0, 100.0, 200.0)
    ]
    assert means[0][2, 0] < means[1][2, 0]
    np.testing.assert_allclose(means[1], means[2], rtol=1e-9)


def test_unknown_values_and_lone_runners_teach_nothing() -> None:
    """A race with fewer than two known values leaves every effect as it was, and its errors are unknown."""
    horse, args = np.array([0, 1, 0, 1]), (np.array([1, 20]), np.array([0, 2, 4]))
    got = filter_effects(*args, np.array([7.0, np.nan, 1.0, 0.0]), np.full(4, 4.0), [Effect("horse", horse, 9.0)])
    assert not got.mean[:, 0].any()
    assert (got.variance[:, 0] == 9.0).all()
    assert np.isnan(got.error[:2]).all()


def test_a_race_with_its_own_variance() -> None:
    """The variance of the race effect may differ by race; a race of variance 0 ties its runners to zero."""
    horse, args = np.array([0, 1, 0, 1, 0, 1]), (np.array([1, 20, 30]), np.array([0, 2, 4, 6]))
    y, effects = np.array([5.0, 5.0, 5.0, 5.0, 0.0, 0.0]), [Effect("horse", horse, 9.0)]
    got = filter_effects(*args, y, np.full(6, 4.0), effects, np.array([1e9, 1e-9, 1e9]), NEVER)
    np.testing.assert_allclose(got.mean[2:4, 0], 0, atol=1e-6)
    # One look with error variance 4 at a prior of variance (about) 9 less what the first race told.
    kept = got.variance[2, 0]
    np.testing.assert_allclose(got.mean[4:, 0], 5.0 * kept / (kept + 4.0), rtol=1e-6)
