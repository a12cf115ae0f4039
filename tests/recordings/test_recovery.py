"""How the heart comes down, on a heart that is known."""

import numpy as np
import pytest

from upsides.recordings.heart.recovery import highest_held, recovery
from upsides.recordings.track import Track


def _track(heart: np.ndarray, speed: np.ndarray) -> Track:
    none = np.full(heart.size, np.nan)
    stretch = np.zeros(heart.size, dtype=np.int64)
    time = np.arange(heart.size, dtype=np.float64)
    return Track(None, time, none, none, none, speed, none, none, none, none, heart, stretch, 1.0, 1.0)


def _pulled_up(seconds: int = 500) -> Track:
    """A heart at 205 for 100 s at 15 m/s, then coming down to 80 with a time constant of 90 s at a walk."""
    time = np.arange(seconds)
    heart = np.where(time < 100, 205.0, 80 + 125 * np.exp(-(time - 100) / 90.0))
    return _track(heart, np.where(time < 100, 15.0, 1.7))


def test_the_heart_after_one_two_and_five_minutes() -> None:
    """It is what the exponential is then: 144.2, 113.0 and 84.5 beats."""
    told = recovery(_pulled_up(), 100.0)
    assert [one.bpm for one in told] == pytest.approx([80 + 125 * np.exp(-t / 90) for t in (60, 120, 300)], abs=0.3)
    assert not any(one.why_not for one in told)


def test_no_recovery_is_told_where_there_was_none() -> None:
    """A recording that ends, a second canter, or a lost heart give no number and say why."""
    short = recovery(_pulled_up(330), 100.0)
    assert [one.why_not for one in short] == ["", "", "the recording ends before"]
    track = _pulled_up()
    track.speed_ms[180:260] = 9.0
    again = recovery(track, 100.0)
    assert [one.why_not for one in again] == ["", "it went on to canter", "it went on to canter"]
    lost = _pulled_up()
    lost.heart_bpm[150:170] = np.nan
    assert recovery(lost, 100.0)[0].why_not == "no heart rate was kept then"
    assert np.isnan(recovery(lost, 100.0)[0].bpm)


def test_the_highest_rate_is_one_that_was_held() -> None:
    """A single beat of 230 counts for nothing, ten seconds at 210 do; a heart kept for five seconds gives none."""
    heart = np.full(60, 150.0)
    heart[20:31] = 210.0
    heart[45] = 230.0
    assert highest_held(_track(heart, np.full(60, 10.0))) == 210.0
    heart[5:] = np.nan
    assert np.isnan(highest_held(_track(heart, np.full(60, 10.0))))
