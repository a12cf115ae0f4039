"""Eased runs: densities by quadrature, censoring of winners, and shares recovered from simulated runs."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import exponnorm, norm

from upsides.ratings.levels.easing import Easing, estimate, evidence, in_hand, log_density

EASING = Easing(0.2, 8.0)


def test_density_is_the_mixture_of_normal_and_exponentially_modified_normal() -> None:
    """The density equals SciPy's normal and (mirrored) exponentially modified normal, mixed."""
    e = np.linspace(-40, 15, 23)
    sd = np.full(e.size, 4.0)
    modified = exponnorm(K=EASING.mean_lb / 4.0, scale=4.0).pdf(-e)
    np.testing.assert_allclose(
        np.exp(log_density(e, sd, EASING)), 0.8 * norm(scale=4.0).pdf(e) + 0.2 * modified, rtol=1e-10
    )


@pytest.mark.parametrize("residual", [-30.0, -8.0, 0.0, 12.0])
def test_what_was_left_in_hand_equals_quadrature(residual: float) -> None:
    """Chance, mean and variance of what was left in hand are Bayes' rule integrated numerically."""

    def weight(a: float, power: int) -> float:
        return a**power * norm(scale=4.0).pdf(residual + a) * np.exp(-a / 8.0) / 8.0

    m0, m1, m2 = (0.2 * quad(weight, 0, 120, args=(k,), points=[max(-residual, 0.0)])[0] for k in range(3))
    whole = m0 + 0.8 * norm(scale=4.0).pdf(residual)
    found = in_hand(np.array([residual]), np.array([4.0]), EASING)
    assert found.chance[0] == pytest.approx(m0 / whole, rel=1e-6)
    assert found.mean[0] == pytest.approx(m1 / whole, rel=1e-6)
    assert found.variance[0] == pytest.approx(m2 / whole - (m1 / whole) ** 2, rel=1e-5)


def test_evidence_matches_the_tilted_moments() -> None:
    """A belief updated with the evidence has the mean and variance of the belief under the mixture, by quadrature."""
    expected, uncertainty, noise, y = 100.0, 25.0, 16.0, 92.0
    found = evidence(np.array([y]), np.array([expected]), np.array([uncertainty]), np.array([noise]), EASING)

    def tilted(level: float, power: int) -> float:
        likelihood = np.exp(log_density(np.array([y - level]), np.array([4.0]), EASING))[0]
        return float(level**power * norm(expected, 5.0).pdf(level) * likelihood)

    m0, m1, m2 = (quad(tilted, 60, 140, args=(k,))[0] for k in range(3))
    precision = 1 / uncertainty + 1 / found.variance[0]
    mean = (expected / uncertainty + found.y[0] / found.variance[0]) / precision
    assert mean == pytest.approx(m1 / m0, abs=1e-6)
    assert 1 / precision == pytest.approx(m2 / m0 - (m1 / m0) ** 2, rel=1e-5)


def test_a_tailed_off_run_says_little_and_a_persevered_one_says_all() -> None:
    """Far below expectation the evidence's variance grows manifold; at expectation it stays near the plain error's."""
    y = np.array([100.0, 50.0])
    found = evidence(y, np.full(2, 100.0), np.full(2, 25.0), np.full(2, 16.0), EASING)
    assert found.variance[0] < 1.5 * 16.0
    assert found.variance[1] > 6 * 16.0
    assert found.y[1] > y[1]


def test_a_winning_margin_is_a_soft_lower_bound() -> None:
    """A winner below expectation lowers the belief less than a plain error would; a big win counts whole."""
    y = np.array([90.0, 115.0])
    found = evidence(y, np.full(2, 100.0), np.full(2, 25.0), np.full(2, 16.0), Easing(0.2, 4.0))
    updated = (100.0 / 25.0 + found.y / found.variance) / (1 / 25.0 + 1 / found.variance)
    plain = (100.0 / 25.0 + y / 16.0) / (1 / 25.0 + 1 / 16.0)
    assert updated[0] > plain[0] + 1.0
    assert updated[1] == pytest.approx(plain[1], abs=0.2)


def test_share_and_amount_come_back() -> None:
    """From 20,000 simulated runs the share, the mean amount and the error variance return within 10 %."""
    rng = np.random.default_rng(1)
    n = 20_000
    uncertainty, noise = np.full(n, 9.0), np.full(n, 25.0)
    left = rng.exponential(12.0, n) * (rng.random(n) < 0.15)
    residual = rng.normal(0, np.sqrt(34.0), n) - left
    found, multiple = estimate(residual, uncertainty, noise * 2.0, Easing(0.05, 5.0))
    assert found.share == pytest.approx(0.15, rel=0.1)
    assert found.mean_lb == pytest.approx(12.0, rel=0.1)
    assert multiple == pytest.approx(0.5, rel=0.1)
