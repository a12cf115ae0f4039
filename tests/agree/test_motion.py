"""The compiled smoothers against the same model as matrices and as one least-squares problem."""

import numpy as np
import pytest

from agree.motion import Linear, axis, filtered, least_squares, smoothed, two_axes
from upsides.recordings import axes_kernel, coupled_kernel

PRIOR = np.array([50.0, 30.0, 1.5, -2.0])
E, V, N, W = np.eye(4)


def _series(seed: int, n: int = 60) -> tuple[np.ndarray, ...]:
    """Return irregular steps, starts, places with some missing, and their variances."""
    rng = np.random.default_rng(seed)
    step = np.r_[0.0, rng.choice([0.2, 1.0, 4.0, 9.5], n - 1)]
    place = np.cumsum(rng.normal(0, 4, (n, 2)), axis=0)
    place[1:][rng.random(n - 1) < 0.2] = np.nan
    return step, np.arange(n) == 0, place, rng.uniform(0.05, 9.0, n)


def _by_axes(step: np.ndarray, first: np.ndarray, place: np.ndarray, variance: np.ndarray, q: float) -> tuple:
    n = step.size
    state, covariance, used = np.empty((n, 4)), np.empty((n, 4)), np.empty(n, dtype=bool)
    east, north = np.ascontiguousarray(place.T)
    axes_kernel.smooth(step, first, east, north, variance, q, PRIOR, np.inf, state, covariance, used)
    return state, covariance


def _model(step: np.ndarray, place: np.ndarray, variance: np.ndarray, q: float, speed: np.ndarray | None) -> Linear:
    """Return the model of both axes with the rows that the compiled smoothers take in."""
    rows: list[list[tuple[np.ndarray, float, float]]] = []
    for k in range(step.size):
        here = [] if np.isnan(place[k, 0]) else [(E, place[k, 0], variance[k]), (N, place[k, 1], variance[k])]
        if speed is not None and not np.isnan(speed[k, 0]):
            s, east, north, r = speed[k]
            if east == 0 and north == 0:
                here += [(V, 0.0, r + s * s / 2), (W, 0.0, r + s * s / 2)]
            else:
                here.append((east * V + north * W, s, r))
        rows.append(here)
    moves = [two_axes(d, q) if k else (np.eye(4), np.eye(4)) for k, d in enumerate(step)]
    mean = np.array([place[0, 0], PRIOR[2], place[0, 1], PRIOR[3]])
    spread = np.diag([PRIOR[0], PRIOR[1], PRIOR[0], PRIOR[1]])
    return Linear(mean, spread, [F for F, _ in moves], [Q for _, Q in moves], rows)


@pytest.mark.parametrize("q", [0.01, 0.5, 10.0])
@pytest.mark.parametrize("seed", range(4))
def test_axes_are_the_least_squares_solution(seed: int, q: float) -> None:
    """On irregular series with gaps the compiled smoother's states and variances are those of the normal equations."""
    step, first, place, variance = _series(seed)
    state, covariance = _by_axes(step, first, place, variance, q)
    means, spreads = least_squares(_model(step, place, variance, q, None))
    np.testing.assert_allclose(state, means, rtol=1e-8, atol=1e-8)
    for column, (i, j) in enumerate([(0, 0), (0, 1), (1, 1)]):
        np.testing.assert_allclose(covariance[:, column], spreads[:, i, j], rtol=1e-8, atol=1e-8)


@pytest.mark.parametrize("q", [0.01, 0.5, 10.0])
@pytest.mark.parametrize("seed", range(4))
def test_speed_is_taken_in_as_in_the_least_squares_solution(seed: int, q: float) -> None:
    """With the receiver's speed, along a direction or not, states and covariances are those of the equations."""
    step, first, place, variance = _series(seed)
    rng = np.random.default_rng(100 + seed)
    heading = rng.uniform(0, 2 * np.pi, step.size)
    speed = np.column_stack([rng.uniform(0, 18, step.size), np.sin(heading), np.cos(heading), np.full(step.size, 0.04)])
    speed[rng.random(step.size) < 0.3, 0] = np.nan
    speed[rng.random(step.size) < 0.2, :3] = 0.3, 0.0, 0.0
    n = step.size
    state, covariance, used = np.empty((n, 4)), np.empty((n, 4, 4)), np.empty(n, dtype=bool)
    coupled_kernel.smooth(step, first, place, variance, speed, q, PRIOR, np.inf, state, covariance, used)
    means, spreads = least_squares(_model(step, place, variance, q, speed))
    np.testing.assert_allclose(state, means, rtol=1e-8, atol=1e-8)
    np.testing.assert_allclose(covariance, spreads, rtol=1e-8, atol=1e-8)
    assert (used == np.isfinite(place[:, 0])).all()


def test_without_speed_both_smoothers_are_one() -> None:
    """Where the receiver gives no speed, the coupled smoother says what the one of the axes says."""
    step, first, place, variance = _series(9)
    n = step.size
    state, covariance, used = np.empty((n, 4)), np.empty((n, 4, 4)), np.empty(n, dtype=bool)
    nothing = np.full((n, 4), np.nan)
    coupled_kernel.smooth(step, first, place, variance, nothing, 0.5, PRIOR, np.inf, state, covariance, used)
    alone, shared = _by_axes(step, first, place, variance, 0.5)
    np.testing.assert_allclose(state, alone, rtol=1e-9, atol=1e-9)
    np.testing.assert_allclose(covariance[:, 3, 3], shared[:, 2], rtol=1e-9)


@pytest.mark.parametrize("q", [1e-12, 1e-6, 1.0])
def test_stiff_series_agree_with_longer_arithmetic(q: float) -> None:
    """With hardly any noise in the motion and steps from a millisecond to a day, nothing is lost to rounding."""
    rng = np.random.default_rng(3)
    n = 200
    step = np.r_[0.0, rng.choice([1e-3, 0.2, 1.0, 60.0, 86400.0], n - 1, p=[0.2, 0.4, 0.3, 0.08, 0.02])]
    place = np.zeros((n, 2))
    place[:, 0] = 3 * np.cumsum(step) + rng.normal(0, 1, n)
    variance = rng.uniform(0.01, 9, n)
    state, covariance = _by_axes(step, np.arange(n) == 0, place, variance, q)
    long = np.longdouble
    moves = [axis(d, q) if k else (np.eye(2), np.eye(2)) for k, d in enumerate(step)]
    row = np.array([1, 0], dtype=long)
    rows = [[(row, long(place[k, 0]), long(variance[k]))] for k in range(n)]
    mean, spread = np.array([place[0, 0], PRIOR[2]], dtype=long), np.diag(PRIOR[:2]).astype(long)
    means, spreads = smoothed(Linear(mean, spread, [F for F, _ in moves], [Q for _, Q in moves], rows))
    np.testing.assert_allclose(state[:, :2], means.astype(float), rtol=1e-8, atol=1e-6)
    np.testing.assert_allclose(covariance[:, 0], spreads[:, 0, 0].astype(float), rtol=1e-5)
    np.testing.assert_allclose(covariance[:, 2], spreads[:, 1, 1].astype(float), rtol=1e-5)


def test_matrices_reach_the_steady_state_of_the_nile() -> None:
    """The matrix form, as a local level with 15099 and 1469.1, settles at 5501.258, 4032.158 and a gain of 0.267048.

    Variances of the Nile's flow as in Durbin and Koopman; the steady state follows from them analytically:
    P = (q + sqrt(q^2 + 4 q r)) / 2.
    """
    q, r = 1469.1, 15099.0
    one = np.ones((1, 1))
    model = Linear(np.zeros(1), 1e7 * one, [one] * 100, [q * one] * 100, [[(np.ones(1), 0.0, r)] for _ in range(100)])
    _, before, _, after = filtered(model)
    assert before[-1][0, 0] == pytest.approx((q + np.sqrt(q * q + 4 * q * r)) / 2, rel=1e-10)
    assert round(before[-1][0, 0], 3) == 5501.258
    assert round(after[-1][0, 0], 3) == 4032.158
    assert round(before[-1][0, 0] / (before[-1][0, 0] + r), 6) == 0.267048
