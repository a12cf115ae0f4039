"""Conditional logit against published fits."""

from itertools import permutations
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from upsides.errors import CannotFitError
from upsides.ratings.choice import (
    choice_probabilities,
    fit_choice,
    log_likelihood,
    slope_and_information,
    stages,
)

DATA = Path(__file__).parent / "data"
STALL_WINS = (29, 19, 18, 25, 17, 10, 15, 11)
"""Winners by stall in 144 eight-runner races of 1955 (Siegel, Nonparametric Statistics, 1956)."""


def infert() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    table = np.loadtxt(DATA / "conditional_logit_infert.csv", delimiter=",", skiprows=2)
    table = table[np.argsort(table[:, 0], kind="stable")]
    _, first = np.unique(table[:, 0], return_index=True)
    return table[:, 2:], np.append(first, len(table)), table[:, 1]


def stall_races() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    winner = np.repeat(np.arange(8), STALL_WINS)
    position = (np.arange(8) == winner[:, None]).astype(float).ravel()
    return np.tile(np.arange(8) / 7 - 0.5, 144)[:, None], np.arange(0, 144 * 8 + 1, 8), position


def test_infert_gives_the_published_fit() -> None:
    """The matched case-control example of R's survival package comes out to its printed digits."""
    fit = fit_choice(*infert())
    assert fit.coefficients == pytest.approx([1.985876, 1.409012], abs=1e-6)
    assert fit.standard_errors == pytest.approx([0.352443, 0.360712], abs=1e-6)
    assert fit.log_likelihood == pytest.approx(-64.202237, abs=1e-6)
    assert fit.null_log_likelihood == pytest.approx(-90.779355, abs=1e-6)


def test_stalls_give_the_published_slope() -> None:
    """The 144 races of 1955 give the slope, error and log-likelihoods worked out for them."""
    fit = fit_choice(*stall_races())
    assert fit.coefficients[0] == pytest.approx(-0.836751, abs=1e-6)
    assert fit.standard_errors[0] == pytest.approx(0.260490, abs=1e-6)
    assert fit.log_likelihood == pytest.approx(-294.160858, abs=1e-6)
    assert fit.null_log_likelihood == pytest.approx(-299.4396, abs=1e-4)
    assert 2 * (fit.log_likelihood - fit.null_log_likelihood) == pytest.approx(10.55745, abs=1e-5)


@pytest.mark.parametrize(("sd", "slope"), [(0.2, -0.314750), (0.3, -0.480483), (0.5, -0.659378)])
def test_a_prior_shrinks_the_slope_as_published(sd: float, slope: float) -> None:
    """The most probable slope under a normal prior is the one worked out for the same 144 races."""
    fit = fit_choice(*stall_races(), prior_precision=[1 / sd**2])
    assert fit.coefficients[0] == pytest.approx(slope, abs=1e-6)


def test_chances_of_the_stalls_are_the_published_trend() -> None:
    """Fitted chances by stall are those published for the trend."""
    X, offsets, position = stall_races()
    chance = choice_probabilities(X, offsets, fit_choice(X, offsets, position).coefficients)[:8]
    assert chance[[0, 3, 7]] == pytest.approx([0.182997, 0.12785, 0.079259], abs=1e-6)
    assert chance.sum() == pytest.approx(1)


def test_an_offset_equal_to_the_answer_leaves_nothing() -> None:
    """Given its own fit as an offset the model adds nothing."""
    X, offsets, position = stall_races()
    fit = fit_choice(X, offsets, position, offset=-0.836751 * X[:, 0])
    assert fit.coefficients[0] == pytest.approx(0, abs=1e-6)
    assert fit.log_likelihood == pytest.approx(-294.160858, abs=1e-6)


def test_exploding_by_hand_gives_the_same() -> None:
    """Stages taken apart inside equal races of the shrinking field written out by hand."""
    rng = np.random.default_rng(3)
    X = rng.normal(size=(60, 2))
    position = np.concatenate([rng.permutation(6) + 1 for _ in range(10)])
    rows, offsets, won = [], [0], []
    for race in range(10):
        for place in (1, 2, 3):
            left = [i for i in range(6 * race, 6 * race + 6) if position[i] >= place]
            rows += left
            won += [int(position[i] == place) for i in left]
            offsets.append(len(rows))
    by_hand = fit_choice(X[rows], offsets, won)
    inside = fit_choice(X, np.arange(0, 61, 6), position, place_weights=(1, 1, 1))
    assert inside.coefficients == pytest.approx(by_hand.coefficients, abs=1e-8)
    assert inside.log_likelihood == pytest.approx(by_hand.log_likelihood, abs=1e-9)
    assert inside.covariance == pytest.approx(by_hand.covariance, abs=1e-8)


def test_dead_heaters_share_one_choice() -> None:
    """Two winners of one race count half each, and a non-finisher is behind everyone."""
    stage, second, third = stages([1, 1, 3, 0], [0, 4], (1, 1, 1))
    assert stage.chosen.tolist() == [0.5, 0.5, 0, 0]
    assert stage.at_risk.all()
    assert not second.chosen.any()
    assert not second.at_risk.any()
    assert third.at_risk.tolist() == [False, False, True, True]
    logit = np.log([4.0, 3.0, 2.0, 1.0])
    expected = 0.5 * np.log(0.4) + 0.5 * np.log(0.3) + np.log(2 / 3)
    assert log_likelihood(logit, np.array([0, 4]), [stage, second, third]) == pytest.approx(expected)


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10_000))
def test_slope_and_curvature_are_those_of_the_likelihood(seed: int) -> None:
    """Gradient and Hessian agree with differences of the log-likelihood, ties and weights included."""
    rng = np.random.default_rng(seed)
    X = rng.normal(size=(12, 2))
    offsets = np.array([0, 3, 7, 12])
    position = rng.integers(0, 5, 12).astype(float)
    choices = stages(position, offsets, (1, 0.5, 0.25), rng.uniform(0.5, 2, 3))
    b, h = rng.normal(size=2), 1e-4

    def value(beta: np.ndarray) -> float:
        return log_likelihood(X @ beta, offsets, choices)

    gradient, information = slope_and_information(X, X @ b, offsets, choices)
    steps = h * np.eye(2)
    numeric = [(value(b + d) - value(b - d)) / (2 * h) for d in steps]
    curve = [-(value(b + d) - 2 * value(b) + value(b - d)) / h**2 for d in steps]
    assert gradient == pytest.approx(numeric, abs=1e-5)
    assert np.diag(information) == pytest.approx(curve, abs=1e-4)


def test_a_column_that_says_nothing_is_refused() -> None:
    """A column equal within every race cannot be fitted, and the message says which."""
    X, offsets, position = stall_races()
    with pytest.raises(CannotFitError, match="column 1 does not differ within any race"):
        fit_choice(np.column_stack([X, np.ones(len(X))]), offsets, position)


def test_complete_separation_is_refused() -> None:
    """A column that marks every winner has no finite coefficient unless a prior holds it."""
    _, offsets, position = stall_races()
    with pytest.raises(CannotFitError, match="prior precision"):
        fit_choice(position[:, None], offsets, position)
    assert fit_choice(position[:, None], offsets, position, prior_precision=1.0).coefficients[0] > 2


def test_missing_values_and_empty_races_are_refused() -> None:
    """A missing number or an empty race is named instead of giving a wrong fit."""
    X, offsets, position = stall_races()
    X[9, 0] = np.nan
    with pytest.raises(CannotFitError, match="row 9, column 0"):
        fit_choice(X, offsets, position)
    with pytest.raises(CannotFitError, match="empty race"):
        fit_choice([[1.0], [2.0]], [0, 2, 2], [1, 0])


def chance_of_order(worth: np.ndarray, order: tuple[int, ...], powers: tuple[float, ...]) -> float:
    """Return the chance that `order` fills the first places, each place by worth to its power among those left."""
    left, chance = list(range(worth.size)), 1.0
    for runner, power in zip(order, powers, strict=True):
        chance *= worth[runner] ** power / sum(worth[i] ** power for i in left)
        left.remove(runner)
    return chance


def test_powers_by_place_are_the_likelihood_of_the_order() -> None:
    """With a power for each place the log-likelihood is the log of the order's chance, and all orders add up to 1."""
    # Harville's product with Lo & Bacon-Shone's powers for the minor places, written out.
    logit, powers = np.array([0.9, -0.3, 0.2, -1.1]), (1.0, 0.8, 0.6)
    total = 0.0
    for order in permutations(range(4), 3):
        position = np.zeros(4)
        position[list(order)] = [1, 2, 3]
        choices = stages(position, [0, 4], (1, 1, 1), place_powers=powers)
        chance = chance_of_order(np.exp(logit), order, powers)
        assert log_likelihood(logit, np.array([0, 4]), choices) == pytest.approx(np.log(chance))
        total += chance
    assert total == pytest.approx(1)


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10_000))
def test_slope_and_curvature_with_powers(seed: int) -> None:
    """With powers by place, gradient and the whole Hessian agree with differences of the log-likelihood."""
    rng = np.random.default_rng(seed)
    X, offsets = rng.normal(size=(12, 2)), np.array([0, 3, 7, 12])
    position = rng.integers(0, 5, 12).astype(float)
    choices = stages(position, offsets, (1, 0.5, 0.25), rng.uniform(0.5, 2, 3), (1.0, 0.85, 0.6))
    b, h = rng.normal(size=2), 1e-4

    def value(beta: np.ndarray) -> float:
        return log_likelihood(X @ beta, offsets, choices)

    def slope(beta: np.ndarray) -> np.ndarray:
        return slope_and_information(X, X @ beta, offsets, choices)[0]

    steps = h * np.eye(2)
    gradient, information = slope_and_information(X, X @ b, offsets, choices)
    assert gradient == pytest.approx([(value(b + d) - value(b - d)) / (2 * h) for d in steps], abs=1e-5)
    curve = np.array([(slope(b - d) - slope(b + d)) / (2 * h) for d in steps])
    np.testing.assert_allclose(information, curve, atol=1e-6)


def test_a_fit_with_powers_is_the_most_likely() -> None:
    """The fit with powers by place is where a general optimiser finds the brute-force likelihood highest."""
    rng = np.random.default_rng(8)
    X, powers = rng.normal(size=(120, 2)), (1.0, 0.9, 0.7)
    value = X @ [0.7, -0.4] + rng.gumbel(size=120)
    position = np.concatenate([(-value[a : a + 4]).argsort().argsort() + 1 for a in range(0, 120, 4)])

    def minus_log(beta: np.ndarray) -> float:
        total = 0.0
        for a in range(0, 120, 4):
            order = tuple(int(i) for i in position[a : a + 4].argsort()[:3])
            total -= np.log(chance_of_order(np.exp(X[a : a + 4] @ beta), order, powers))
        return total

    found = minimize(minus_log, np.zeros(2), tol=1e-10)
    fit = fit_choice(X, np.arange(0, 121, 4), position, place_weights=(1, 1, 1), place_powers=powers)
    assert fit.coefficients == pytest.approx(found.x, abs=1e-5)
    assert fit.log_likelihood == pytest.approx(-found.fun, abs=1e-8)


def test_powers_beyond_those_given_are_one() -> None:
    """A place without a power of its own has power 1, and no powers at all are the plain ranking."""
    built = stages([1, 2, 3], [0, 3], (1, 1, 1), place_powers=(1.0, 0.5))
    assert [stage.power for stage in built] == [1.0, 0.5, 1.0]
    assert [stage.power for stage in stages([1, 2, 3], [0, 3], (1, 0, 1), place_powers=(1.0, 0.5, 0.3))] == [1.0, 0.3]
