"""The smoother against a worked example, and against known truth of simulations."""

import numpy as np
import pytest

from upsides.recordings import axes_kernel, noise, smoother
from upsides.recordings.smoother import Smoothed, smoothed

Floats = np.ndarray


def test_the_worked_example() -> None:
    """Smoothed places, speeds and variances of speed are those of the worked example, to its printed digits.

    Constant velocity with q = 0.5 m^2/s^3, one fix a second, variance 1 m^2, prior (0 m, 12 m/s) with covariance
    diag(1, 4); states also obtained from the joint normal equations in one step (shared reference,
    rts_smoother_example.csv).
    """
    place = np.array([0.0, 12.3, 24.1, 37.2, 49.0, 61.4])
    expected = np.array([
        [-0.009271, 12.211057, 0.487310],
        [12.216522, 12.242074, 0.255862],
        [24.484925, 12.303232, 0.209429],
        [36.807913, 12.319169, 0.223013],
        [49.108786, 12.291676, 0.318977],
        [61.400396, 12.291577, 0.643332],
    ])  # fmt: skip
    state, covariance, used = np.empty((6, 4)), np.empty((6, 4)), np.empty(6, dtype=bool)
    prior, first = np.array([1.0, 4.0, 12.0, 0.0]), np.arange(6) == 0
    axes_kernel.smooth(
        np.r_[0.0, np.ones(5)], first, place, np.zeros(6), np.ones(6), 0.5, prior, np.inf, state, covariance, used
    )
    found = np.column_stack([state[:, :2], covariance[:, 2]])
    np.testing.assert_array_equal(np.round(found, 6), expected)


def _drawn(rng: np.random.Generator, n: int, step: float, q: float, sd: float) -> tuple[Floats, Floats, Floats]:
    """Return velocities (n, 2) and places (n, 2) drawn from the model, begun at 10 m/s east, and places measured."""
    Q = q * np.array([[step**3 / 3, step**2 / 2], [step**2 / 2, step]])
    noise_ = rng.normal(size=(n, 2, 2)) @ np.linalg.cholesky(Q).T
    velocity, place = np.zeros((n, 2)), np.zeros((n, 2))
    velocity[0] = 10.0, 0.0
    for k in range(1, n):
        velocity[k] = velocity[k - 1] + noise_[k, :, 1]
        place[k] = place[k - 1] + step * velocity[k - 1] + noise_[k, :, 0]
    return velocity, place, place + rng.normal(0, sd, (n, 2))


RUNS = 400
FOUR_ERRORS = 4 * np.sqrt(0.95 * 0.05 / RUNS)


@pytest.mark.parametrize("own", [False, True])
def test_error_bars_cover_what_they_say(own: bool) -> None:  # noqa: FBT001 -- a case of the test
    """Where the truth follows the model, 95 % of true speeds lie within 1.96 standard deviations (400 runs).

    So it is with the receiver's own speed and without, and with it the error is less than half.
    """
    rng = np.random.default_rng(11)
    inside, error, said = [], [], []
    step, first = np.r_[0.0, np.ones(39)], np.arange(40) == 0
    for _ in range(RUNS):
        velocity, _, place = _drawn(rng, 40, 1.0, 0.3, 1.5)
        east, north = np.ascontiguousarray(place.T)
        true = np.hypot(*velocity.T)
        way = smoother.by_places(step, first, east, north, np.full(40, 2.25), 0.3)
        if own:
            speed = np.abs(true + rng.normal(0, 0.1, 40))
            way = smoother.with_speed(step, first, (east, north), np.full(40, 2.25), 0.3, (speed, 0.01), way)
        off = np.hypot(way[2][20], way[3][20]) - true[20]
        inside.append(abs(off) < 1.96 * np.sqrt(way[4][20]))
        error.append(off)
        said.append(way[4][20])
    assert np.mean(inside) == pytest.approx(0.95, abs=FOUR_ERRORS)
    assert np.std(error) == pytest.approx(np.sqrt(np.mean(said)), rel=4 / np.sqrt(2 * RUNS))
    assert np.std(error) < (0.12 if own else 0.6)


@pytest.mark.parametrize(("step", "q", "sd"), [(1.0, 0.5, 1.0), (0.2, 1.0, 2.0), (1.0, 0.3, 4.0), (4.0, 0.3, 1.0)])
def test_noise_is_found(step: float, q: float, sd: float) -> None:
    """Of 2000 fixes drawn from the model, q is found within a factor of 2 and the error of a place within 15 %."""
    _, _, place = _drawn(np.random.default_rng(12), 2000, step, q, sd)
    weight = np.full(2000, noise.USUAL_SD_M**2)
    east, north = np.ascontiguousarray(place.T)
    found, factor = noise.noise_of(np.r_[0.0, np.full(1999, step)], np.arange(2000) == 0, east, north, weight)
    assert q / 2 < found < 2 * q
    assert np.sqrt(weight[0] * factor) == pytest.approx(sd, rel=0.15)


def test_outliers_hardly_change_the_noise_that_is_found() -> None:
    """With 2 % of places 100 m off, the error of a place that is found grows by less than a third."""
    rng = np.random.default_rng(13)
    _, _, place = _drawn(rng, 2000, 1.0, 0.5, 1.0)
    place[rng.random(2000) < 0.02] += 70.0
    east, north = np.ascontiguousarray(place.T)
    first = np.arange(2000) == 0
    _, factor = noise.noise_of(np.r_[0.0, np.ones(1999)], first, east, north, np.ones(2000))
    assert np.sqrt(factor) < 1.33


def test_the_receivers_speed_error_is_found() -> None:
    """The error of the receiver's own speed, 0.2 m/s, is found within 30 %."""
    rng = np.random.default_rng(14)
    velocity, _, place = _drawn(rng, 3000, 0.2, 0.3, 1.0)
    speed = np.abs(np.hypot(*velocity.T) + rng.normal(0, 0.2, 3000))
    way = smoothed(np.arange(3000) * 0.2, np.arange(3000) == 0, *np.ascontiguousarray(place.T), speed=speed)
    assert way.speed_sd == pytest.approx(0.2, rel=0.3)


def _round(n: int = 600, hz: float = 1.0, pace: float = 15.0) -> tuple[Floats, Floats, Floats]:
    """Return times and true places of a horse at a pace, on bends of 200 m."""
    time = np.arange(n) / hz
    return time, 200 * np.sin(pace * time / 200), 200 * np.cos(pace * time / 200)


def _error(way: Smoothed, pace: float = 15.0) -> float:
    return float(np.sqrt(np.mean((way.speed_ms - pace) ** 2)))


def test_spikes_are_refused_and_change_nothing() -> None:
    """Places 40 m off that no earlier test caught are not used; speed is as good as without them."""
    rng = np.random.default_rng(15)
    time, east, north = _round()
    first = time == 0
    east, north = east + rng.normal(0, 0.5, 600), north + rng.normal(0, 0.5, 600)
    without = smoothed(time, first, east, north)
    wrong = [60, 200, 201, 400]
    east[wrong] += 40
    way = smoothed(time, first, east, north)
    assert np.flatnonzero(~way.used).tolist() == wrong
    assert _error(way) < 1.2 * _error(without)


def test_what_the_receiver_states_of_its_error_counts() -> None:
    """Where stretches of bad reception are stated as such, speed is better than where they are not."""
    rng = np.random.default_rng(16)
    time, east, north = _round()
    sd = np.where(np.arange(600) // 50 % 3 == 2, 8.0, 0.5)
    east, north = east + sd * rng.normal(size=600), north + sd * rng.normal(size=600)
    stated = smoothed(time, time == 0, east, north, accuracy=sd)
    assert _error(stated) < 0.7 * _error(smoothed(time, time == 0, east, north))
    assert np.sqrt(np.median(stated.place_variance[sd > 1])) > 2 * np.sqrt(np.median(stated.place_variance[sd < 1]))


def test_a_wild_speed_of_the_receiver_is_not_used() -> None:
    """A receiver that says 40 m/s now and then does not change the speed there."""
    rng = np.random.default_rng(17)
    time, east, north = _round()
    east, north = east + rng.normal(0, 0.5, 600), north + rng.normal(0, 0.5, 600)
    speed = 15 + rng.normal(0, 0.1, 600)
    speed[[100, 300, 301]] = 40.0
    way = smoothed(time, time == 0, east, north, speed=speed)
    assert np.abs(way.speed_ms - 15).max() < 0.7


def test_a_stretch_knows_nothing_of_the_one_before() -> None:
    """Smoothed together, each of two stretches is what it is alone at the same noise."""
    rng = np.random.default_rng(18)
    time, east, north = _round(200)
    east = east + rng.normal(0, 1, 200)
    step, first = np.r_[0.0, np.diff(time)], np.isin(np.arange(200), [0, 90])
    variance = np.ones(200)
    both = smoother.by_places(step, first, east, north, variance, 0.5)
    later = smoother.by_places(step[90:], first[90:], east[90:], north[90:], variance[90:], 0.5)
    for one, two in zip(both, later, strict=True):
        np.testing.assert_array_equal(one[90:], two)
