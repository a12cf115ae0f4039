"""A thumb on a stopwatch: sections, furlongs, bests and gaps, by hand and against simulated presses."""

import numpy as np
import pytest
from numpy.typing import NDArray

from upsides.recordings.stopwatch import PRESS_SD_S, best, furlongs, gaps, sections
from upsides.trade.units import FURLONG_M

THREE = [[201.2, 15.4], [402.3, 29.1], [603.5, 42.8]]
"""Three furlongs in 42.8 s."""
MANY = 4000
"""Simulated clockings."""


def test_sections_are_the_differences_of_the_splits() -> None:
    """15.4, 29.1 and 42.8 s from the start are 15.4, 13.7 and 13.7 s a section; 201.2 m in 15.4 s is 13.06 m/s."""
    found = sections(THREE)
    assert found.seconds == pytest.approx([15.4, 13.7, 13.7], abs=1e-10)
    assert found.speed_ms[0] == pytest.approx(201.2 / 15.4, abs=1e-10)
    assert found.begin_m.tolist() == [0, 201.2, 402.3]


def test_a_section_is_two_presses_and_neighbours_share_one() -> None:
    """By hand: var(P1 - P0) = 2 s², cov(P1 - P0, P2 - P1) = -s², sections without a press in common are independent."""
    found = sections(THREE)
    by_hand = PRESS_SD_S**2 * np.array([[2, -1, 0], [-1, 2, -1], [0, -1, 2]])
    assert found.covariance == pytest.approx(by_hand, abs=1e-10)
    assert found.sd_s == pytest.approx(PRESS_SD_S * np.sqrt([2, 2, 2]), abs=1e-10)


def test_all_sections_together_are_no_worse_known_than_one() -> None:
    """The sum over all sections is the last press less the first: var 2 s², whatever was pressed between."""
    ones = np.ones(3)
    assert ones @ sections(THREE).covariance @ ones == pytest.approx(2 * PRESS_SD_S**2, abs=1e-10)


def test_marks_in_whole_metres_are_furlongs() -> None:
    """201, 402 and 603 m are three furlongs, as they were pressed, and nothing is guessed between them."""
    found = furlongs([[201, 15.4], [402, 29.1], [603, 42.8]])
    assert found.seconds == pytest.approx([15.4, 13.7, 13.7], abs=1e-10)
    assert found.end_m.tolist() == [201, 402, 603]


def test_furlongs_between_marks_are_taken_at_even_speed() -> None:
    """At 400 m in 26 s and 800 m in 50 s: by hand 1f at 13.0759 s, 2f at 26 + 2.336/400·24 s, 3f at 38.2102 s."""
    found = furlongs([[400, 26.0], [800, 50.0]])
    first, second, third = 26 * FURLONG_M / 400, 26 + (2 * FURLONG_M - 400) * 0.06, 26 + (3 * FURLONG_M - 400) * 0.06
    assert found.seconds == pytest.approx([first, second - first, third - second], abs=1e-10)


def test_the_error_of_a_part_is_a_part_of_the_error() -> None:
    """Half of a section is half the difference of its presses: sd s·sqrt(2)/2, by hand."""
    found = furlongs([[2 * FURLONG_M, 28.0]])
    assert found.sd_s == pytest.approx([PRESS_SD_S * 2**0.5 / 2] * 2, abs=1e-10)
    assert found.covariance[0, 1] == pytest.approx(PRESS_SD_S**2 / 2, abs=1e-10)  # they err together, not apart


def test_the_best_stretch() -> None:
    """Of 15.4, 13.5 and 13.7 s the best furlong is the second, the best two the last two; four were not clocked."""
    splits = [[201.2, 15.4], [402.3, 28.9], [603.5, 42.6]]
    one, two = best(splits, 1), best(splits, 2)
    assert (one.begin_m, one.end_m, one.seconds) == (201.2, 402.3, pytest.approx(13.5, abs=1e-10))
    assert two.seconds == pytest.approx(27.2, abs=1e-10)
    assert one.sd_s == two.sd_s == pytest.approx(PRESS_SD_S * 2**0.5, abs=1e-10)
    assert best(splits, 4) is None


def test_the_best_stretch_may_begin_between_marks() -> None:
    """Of 300 m in 21 s, 100 m in 6 s and 300 m in 24 s the best 201.168 m hold the 100 m and go back into the 300 m."""
    found = best([[300, 21.0], [400, 27.0], [700, 51.0]], 1)
    assert found.end_m == 400
    assert found.seconds == pytest.approx(6 + (FURLONG_M - 100) * 21 / 300, abs=1e-10)


def test_a_gap_at_the_finish() -> None:
    """At the last common mark one is 0.3 s behind, give or take 0.15·sqrt 2 s; without one there is no gap."""
    *_before, found = gaps(THREE, [[201.2, 15.5], [603.5, 43.1]])
    assert (found.at_m, found.seconds) == (603.5, pytest.approx(0.3))
    assert found.sd_s == pytest.approx(0.15 * 2**0.5)
    assert gaps([[201.2, 15.0]], [[402.3, 30.0]]) == ()


def thumbed(truth: NDArray[np.float64], seed: int = 7) -> NDArray[np.float64]:
    """Clock a work many times: (MANY, k) seconds since the press at the start, each press with an error of its own."""
    errors = np.random.default_rng(seed).normal(0, PRESS_SD_S, (MANY, truth.size + 1))
    return truth + errors[:, 1:] - errors[:, :1]


def share(inside: NDArray[np.bool_]) -> float:
    """Return a share, after printing it with its Monte Carlo error."""
    found = float(np.mean(inside))
    print(f"\n{found:.4f} +- {np.sqrt(found * (1 - found) / inside.size):.4f}")
    return found


def test_intervals_hold_the_truth_as_often_as_they_say() -> None:
    """Of simulated clockings 95 in 100 intervals of +- 1.96 sd hold the true section, to 4 Monte Carlo errors."""
    metres, truth = np.array([201.2, 402.3, 603.5]), np.array([15.4, 29.1, 42.8])
    inside = []
    for seconds in thumbed(truth):
        found = sections(np.column_stack([metres, seconds]))
        inside.append(np.abs(found.seconds - np.diff(truth, prepend=0)) < 1.959964 * found.sd_s)
    bound = 4 * np.sqrt(0.95 * 0.05 / MANY)
    for column in np.array(inside).T:
        assert abs(share(column) - 0.95) < bound


def test_an_ellipse_holds_all_sections_together_as_often_as_it_says() -> None:
    """The squared distance of all sections is chi-squared with as many degrees, so 90 in 100 lie within 6.2514.

    6.2514 is the 0.90 quantile with 3 degrees (Abramowitz and Stegun 1964, table 26.8).
    """
    metres, truth = np.array([201.2, 402.3, 603.5]), np.array([15.4, 29.1, 42.8])
    inverse = np.linalg.inv(sections(THREE).covariance)
    off = np.diff(thumbed(truth, 11), axis=1, prepend=0) - np.diff(truth, prepend=0)
    assert metres.size == off.shape[1]
    inside = np.einsum("ni,ij,nj->n", off, inverse, off) < 6.2514
    assert abs(share(inside) - 0.90) < 4 * np.sqrt(0.90 * 0.10 / MANY)


def test_a_gap_is_two_presses() -> None:
    """Of simulated pairs of one thumb the gap at the finish is off by 0.15·sqrt 2 s, to 4 Monte Carlo errors."""
    start, first, second = np.random.default_rng(3).normal(0, PRESS_SD_S, (3, MANY))
    found = [
        gaps([[603.5, 42.8 + b - a]], [[603.5, 43.1 + c - a]])[-1].seconds
        for a, b, c in zip(start, first, second, strict=True)
    ]
    sd = PRESS_SD_S * 2**0.5
    assert abs(np.std(found) - sd) < 4 * sd / np.sqrt(2 * MANY)
    assert abs(np.mean(found) - 0.3) < 4 * sd / np.sqrt(MANY)
