"""How the heart comes down, and the highest that it held, on a heart that is known."""

import numpy as np
import pytest

from upsides.recordings.heart.highest import Effort, highest, highest_held
from upsides.recordings.heart.recovery import recovery
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


EFFORTS = [Effort("canter", 100.0, 200.0), Effort("fast", 300.0, 380.0), Effort("canter", 500.0, 600.0)]


def _worked() -> Track:
    """Two canters at 9 m/s with the heart at 160, between them fast work at 15 m/s at 205."""
    heart, speed = np.full(700, 90.0), np.full(700, 1.7)
    for effort, bpm, pace in zip(EFFORTS, (160.0, 205.0, 160.0), (9.0, 15.0, 9.0), strict=True):
        inside = slice(int(effort.start_s), int(effort.end_s))
        heart[inside], speed[inside] = bpm, pace
    return _track(heart, speed)


def test_no_highest_is_told_where_the_fastest_work_has_no_rate() -> None:
    """Rates of the canters say nothing of the highest; a fifth of the work says too little, most of it enough."""
    track = _worked()
    assert highest(track, EFFORTS).held == 205.0
    track.heart_bpm[295:310] = np.nan
    assert highest(track, EFFORTS).held == 205.0
    track.heart_bpm[310:360] = np.nan
    some = highest(track, EFFORTS)
    assert np.isnan([some.bpm, some.held]).all()
    assert [one.code for one in some.said] == ["heart_half_of_work"]
    track.heart_bpm[360:400] = np.nan
    assert [one.code for one in highest(track, EFFORTS).said] == ["heart_not_of_work"]


def test_a_lost_canter_takes_no_highest_away() -> None:
    """Only the fastest work counts; without fast work it is the faster canter, and at a walk none is asked for."""
    track = _worked()
    track.heart_bpm[100:200] = np.nan
    assert highest(track, EFFORTS).held == 205.0
    track.speed_ms[100:200] = 10.0
    assert highest(track, EFFORTS[::2]).said
    assert highest(track, ()).bpm == 205.0


def test_a_device_that_writes_the_heart_rarely_has_a_highest() -> None:
    """One rate in twenty seconds is all that such a device gives, and all of it was kept."""
    track = _worked()
    track.heart_bpm[np.arange(700) % 20 != 0] = np.nan
    assert highest(track, EFFORTS).bpm == 205.0
