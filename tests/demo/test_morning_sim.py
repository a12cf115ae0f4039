"""The simulated mornings hold what is published of horses and what was asked of the device."""

import numpy as np
import pytest

from upsides.demo.morning_sim.company import Company
from upsides.demo.morning_sim.ground import PLANE, yard_gallops
from upsides.demo.morning_sim.heart import line_bpm
from upsides.demo.morning_sim.morning import Morning, alone, together
from upsides.demo.morning_sim.mover import Mover
from upsides.demo.morning_sim.moving import CANTER, FAST, STAND, TROT, WALK, slowed, within_reach
from upsides.demo.morning_sim.receiver import PERFECT, Receiver
from upsides.demo.morning_sim.striding import stride_rate
from upsides.recordings.plane import to_plane


@pytest.fixture(scope="module")
def usual() -> Morning:
    return alone(7, Receiver(), mover=Mover("usual"))


def test_speeds_are_those_of_the_gaits(usual: Morning) -> None:
    """Median speeds lie in the bands of gait_speed_zones.csv: walk 1.5-2, trot 3-5, canter 5-14, fast 14-19 m/s."""
    bands = {WALK: (1.5, 2.0), TROT: (3.0, 5.0), CANTER: (5.0, 14.0), FAST: (14.0, 19.0)}
    for gait, (low, high) in bands.items():
        assert low <= np.median(usual.truth.speed_ms[usual.truth.gait == gait]) <= high
    assert usual.truth.speed_ms[usual.truth.gait == STAND].max() < 0.4
    assert usual.truth.speed_ms.max() < 19.0


def test_a_horse_does_what_a_horse_can(usual: Morning) -> None:
    """It gains and loses no more than 2 m/s a second, and its place moves by its speed."""
    truth = usual.truth
    assert np.abs(np.diff(truth.speed_ms)).max() * 10.0 < 2.0
    moved = np.hypot(np.diff(truth.east_m), np.diff(truth.north_m)) * 10.0
    assert np.median(np.abs(moved - truth.speed_ms[1:])) < 0.05


def test_speed_within_reach_is_the_highest_that_is() -> None:
    """From 2 m/s to 10 and back v^2 changes by 2 a s, as under constant acceleration, and no limit is passed."""
    wanted = np.concatenate([np.full(50, 2.0), np.full(400, 10.0), np.full(50, 2.0)])
    speed = within_reach(wanted, 0.5)
    assert (speed <= wanted + 1e-12).all()
    assert speed[60] ** 2 - speed[49] ** 2 == pytest.approx(2 * 1.1 * 0.5 * 11, abs=1e-9)
    assert speed[440] ** 2 - speed[450] ** 2 == pytest.approx(2 * 0.8 * 0.5 * 10, abs=1e-9)
    assert speed[250] == pytest.approx(10.0)


def test_gradient_slows_as_published() -> None:
    """At 16.63 m/s a rise of 1 % costs 0.68 m/s and a fall of 1 % 0.45 (Self et al. 2012)."""
    lost = 16.63 * (1.0 - slowed(np.array([0.01, -0.01])))
    assert lost == pytest.approx([0.68, 0.45], abs=0.005)


def test_strides_are_those_published() -> None:
    """A usual horse makes 2.02 strides a second at 9 m/s and 2.39 at 17 (Witte et al. 2006)."""
    rate = stride_rate(Mover("usual"), np.array([9.0, 17.0]), np.array([CANTER, FAST]))
    assert rate == pytest.approx([2.02, 2.387], abs=0.005)


def test_the_heart_settles_on_the_published_line() -> None:
    """On the level it settles at 140, 180 and 200 at the published V140, V180, V200, and at 214 beyond (2019)."""
    speed = np.array([13.8, 37.5, 49.3, 70.0]) / 3.6
    assert line_bpm(Mover("usual"), speed, np.zeros(4)) == pytest.approx([140.0, 180.0, 200.0, 214.0], abs=0.1)


def test_the_heart_follows_work(usual: Morning) -> None:
    """It is highest at the end of fast work, never above the horse's most, and falls in the minutes after."""
    truth = usual.truth
    end = np.flatnonzero(truth.gait == FAST)[-1]
    assert truth.heart_bpm.max() <= truth.mover.most_bpm
    assert truth.heart_bpm[end] > truth.mover.most_bpm - 8.0
    after = truth.heart_bpm[end + np.array([600, 1200])]
    assert truth.heart_bpm[end] > after[0] + 25.0 > after[1] + 25.0


def test_the_same_seed_is_the_same_morning() -> None:
    """One seed gives one recording, another another."""
    first, again, other = (alone(seed, Receiver(motion_hz=50.0)).recording for seed in (3, 3, 4))
    assert np.array_equal(first.latitude, again.latitude, equal_nan=True)
    assert first.motion is not None
    assert again.motion is not None
    assert np.array_equal(first.motion.g, again.motion.g)
    assert first.latitude.size != other.latitude.size or not np.array_equal(first.latitude, other.latitude)


def test_a_device_without_faults_writes_the_truth() -> None:
    """Positions lie within 2 cm of the truth (7 digits of a degree), every 0.2 s; speeds but for the stride's swing."""
    morning = alone(5, PERFECT)
    written, truth = morning.recording, morning.truth
    east, north = to_plane(PLANE, written.latitude, written.longitude)
    assert np.diff(written.time_s) == pytest.approx(0.2, abs=1e-6)
    assert np.abs(east - np.interp(written.time_s, truth.time_s, truth.east_m)).max() < 0.02
    assert np.abs(north - np.interp(written.time_s, truth.time_s, truth.north_m)).max() < 0.02
    off = written.speed_ms - np.interp(written.time_s, truth.time_s, truth.speed_ms)
    assert np.abs(off).max() < 0.3
    assert abs(off.mean()) < 0.01


def test_errors_are_as_large_as_asked() -> None:
    """Over eight mornings without spikes the error of position has the standard deviation asked for, to a tenth."""
    asked = Receiver(spikes=0, trees=0, slow_m=2.0, slow_s=20.0, white_m=0.5)
    off = []
    for seed in range(8):
        morning = alone(seed, asked)
        east, _ = to_plane(PLANE, morning.recording.latitude, morning.recording.longitude)
        off.append(east - np.interp(morning.recording.time_s, morning.truth.time_s, morning.truth.east_m))
    assert np.concatenate(off).std() == pytest.approx(np.hypot(2.0, 0.5), rel=0.1)


def test_faults_are_written() -> None:
    """A clock that is ahead, a late start, a gap, reflections and a doubled heart all stand in the recording."""
    device = Receiver(clock_s=7.0, lag_s=12.0, trees=1, spikes=3)
    plain = alone(2, device)
    written, truth = plain.recording, plain.truth
    assert written.time_s[0] == pytest.approx(truth.time_s[0] + 19.0)
    assert np.diff(written.time_s).max() > 2.5
    east, north = to_plane(PLANE, written.latitude, written.longitude)
    moments = written.time_s - 7.0
    off = np.hypot(
        east - np.interp(moments, truth.time_s, truth.east_m), north - np.interp(moments, truth.time_s, truth.north_m)
    )
    assert off.max() > 12.0
    assert np.isnan(written.heart_bpm[:10]).any() or written.with_heart == len(written)
    hearts = [alone(seed, Receiver()) for seed in range(6)]
    doubled = [
        np.nanmax(m.recording.heart_bpm / np.interp(m.recording.time_s, m.truth.time_s, m.truth.heart_bpm)) > 1.9
        for m in hearts
    ]
    assert any(doubled)


def test_a_pair_finishes_as_agreed() -> None:
    """The second horse is in front by what was agreed at jump-off and finish, side by side, and both say so."""
    first, second = together(3, (Receiver(), Receiver()), company=Company(jump_m=-1.0, home_m=2.4))
    work = next(work for work in second.truth.works if work.doing == "fast")
    end = np.searchsorted(second.truth.time_s, work.end_s)
    assert second.truth.ahead_m[end] == pytest.approx(2.4, abs=0.3)
    assert first.truth.ahead_m[end] == pytest.approx(-second.truth.ahead_m[end], abs=1e-9)
    apart = np.hypot(
        first.truth.east_m[end] - second.truth.east_m[end], first.truth.north_m[end] - second.truth.north_m[end]
    )
    assert apart == pytest.approx(np.hypot(2.2, second.truth.ahead_m[end]), abs=0.05)


def test_the_gallops_are_what_they_are_called() -> None:
    """The hill is 5 f and rises by about 2 %, the round 8 f and closes, the long gallop 10 f and rises more gently."""
    hill, around, long_ = yard_gallops()
    assert [round(g.length_m / 201.168, 3) for g in (hill, around, long_)] == [5.0, 8.0, 10.0]
    assert 0.015 < hill.rise_m / hill.length_m < 0.025
    assert np.hypot(around.east_m[-1] - around.east_m[0], around.north_m[-1] - around.north_m[0]) < 1.0
    assert 0.005 < long_.rise_m / long_.length_m < 0.018
