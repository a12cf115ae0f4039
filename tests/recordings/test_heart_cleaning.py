"""Heart rates cleaned against known truth."""

import numpy as np
import pytest

from upsides.recordings.heart_cleaning import Heart, cleaned_heart, running_median

TIME = np.arange(1800.0)
SPEED = np.interp(TIME, [0, 300, 310, 700, 720, 900, 910, 1000, 1030, 1800], [1.6, 1.6, 4, 4, 10, 11, 15, 15, 1.6, 1.6])


def _true() -> np.ndarray:
    """Return a horse's heart: towards 60 + 9.5 beats for each m/s, with a time constant of 20 s up and 60 s down."""
    heart = np.empty(TIME.size)
    heart[0] = 75.0
    for k in range(1, TIME.size):
        aim = min(60 + 9.5 * SPEED[k], 218.0)
        heart[k] = heart[k - 1] + (aim - heart[k - 1]) / (20.0 if aim > heart[k - 1] else 60.0)
    return np.round(heart + np.random.default_rng(5).normal(0, 1, TIME.size))


def _codes(heart: Heart) -> dict[str, int]:
    return {message.code: message.count for message in heart.messages}


def _off(heart: Heart) -> float:
    """Return how far the cleaned rates lie from the true ones at most."""
    return float(np.nanmax(np.abs(heart.bpm - _true())))


def test_a_good_heart_is_kept_whole() -> None:
    """A heart that follows work is kept whole and moved by the median by no more than five beats."""
    heart = cleaned_heart(TIME, _true(), SPEED)
    assert heart.kept == 1.0
    assert heart.messages == ()
    assert _off(heart) <= 5


def test_rates_that_no_horse_has_are_left_out() -> None:
    """Rates below 20 and above 250 are left out and filled from both sides."""
    bpm = _true()
    bpm[[100, 200, 201]] = 255, 5, 400
    heart = cleaned_heart(TIME, bpm, SPEED)
    assert _codes(heart) == {"heart_impossible": 3}
    assert heart.kept == pytest.approx(1 - 3 / 1800)
    assert _off(heart) <= 5


def test_a_jump_that_returns_is_left_out_and_one_that_lasts_is_kept() -> None:
    """40 beats more for six seconds are an artefact; a start of 40 beats that decays over a minute is a horse."""
    bpm = _true()
    bpm[500:506] += 40
    assert _codes(cleaned_heart(TIME, bpm, SPEED)) == {"heart_sharp": 6}
    startled = _true()
    startled[150:] += 40 * np.exp(-(TIME[150:] - 150) / 30)
    assert cleaned_heart(TIME, startled, SPEED).kept == 1.0


@pytest.mark.parametrize("factor", [2.0, 0.5])
@pytest.mark.parametrize(("begin", "end"), [(1300, 1380), (400, 440)])
def test_doubling_and_halving_are_left_out(factor: float, begin: int, end: int) -> None:
    """Rates counted twice, or by half, for 40 to 80 seconds at walk or trot are left out, and only they."""
    bpm = _true()
    bpm[begin:end] *= factor
    heart = cleaned_heart(TIME, bpm, SPEED)
    assert _codes(heart).get("heart_doubled", 0) + _codes(heart).get("heart_impossible", 0) >= end - begin - 2
    assert heart.kept >= 1 - (end - begin + 6) / 1800
    assert np.isnan(heart.bpm[begin + 12 : end - 12]).all()  # no gap of more than ten seconds is filled
    assert _off(heart) <= 8


def test_doubling_that_creeps_in_is_told_by_the_line() -> None:
    """A halved rate that is reached and left in small steps, so that no jump shows, lies off the horse's own line."""
    bpm = _true()
    fade = np.interp(TIME, [720, 745, 800, 825], [1.0, 0.5, 0.5, 1.0])
    heart = cleaned_heart(TIME, np.round(bpm * fade), SPEED)
    assert _codes(heart)["heart_doubled"] >= 40
    assert np.isnan(heart.bpm[760:790]).all()


def test_a_frozen_rate_is_left_out() -> None:
    """The same rate for 100 s while speed goes from 4 to 11 m/s is frozen; for 40 s at an even trot it is not."""
    bpm = _true()
    bpm[680:780] = bpm[680]
    assert _codes(cleaned_heart(TIME, bpm, SPEED))["heart_frozen"] >= 100
    even = _true()
    even[500:540] = even[500]
    assert cleaned_heart(TIME, even, SPEED).kept == 1.0


def test_a_flat_rate_is_frozen_even_where_speed_is_not_known() -> None:
    """The same rate for six minutes is no living heart."""
    bpm = _true()
    bpm[1100:1460] = 88
    heart = cleaned_heart(TIME, bpm, np.full(1800, np.nan))
    assert _codes(heart)["heart_frozen"] >= 360


def test_gaps_up_to_ten_seconds_are_filled_and_no_longer_ones() -> None:
    """Nine seconds without a rate are filled on a straight line, fifteen stay open."""
    bpm = _true()
    bpm[400:408] = np.nan
    bpm[600:614] = np.nan
    heart = cleaned_heart(TIME, bpm, SPEED)
    assert np.isfinite(heart.bpm[400:408]).all()
    assert np.isnan(heart.bpm[600:614]).all()
    assert heart.kept == 1.0


def test_no_heart_is_no_share() -> None:
    """Without a rate there is no share; with none that can be, the share is 0."""
    assert np.isnan(cleaned_heart(TIME, np.full(1800, np.nan), SPEED).kept)
    assert cleaned_heart(TIME, np.full(1800, 300.0), SPEED).kept == 0.0


def test_the_running_median_is_the_median_of_each_window() -> None:
    """On irregular times the compiled median is NumPy's median of the values within reach."""
    rng = np.random.default_rng(6)
    time, values = np.sort(rng.uniform(0, 100, 300)), np.round(rng.normal(100, 20, 300))
    expected = [np.median(values[np.abs(time - now) <= 2.5]) for now in time]
    np.testing.assert_array_equal(running_median(time, values, 2.5), expected)
