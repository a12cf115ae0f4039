"""Places thrown aside for some seconds and back are found on mornings of known truth; what a horse does stays."""

from dataclasses import replace
from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from upsides.demo.morning_sim.ground import PLANE
from upsides.demo.morning_sim.morning import Morning, alone
from upsides.demo.morning_sim.receiver import Receiver
from upsides.recordings.excursions import excursions_of
from upsides.recordings.plane import from_plane, to_plane
from upsides.recordings.recording import Recording
from upsides.recordings.track import Track
from upsides.recordings.tracking import track_of

AT_S = (900.0, 1800.0, 2700.0)
"""When places are thrown aside: a horse walks, canters and walks home by then, as the seed has it."""


@cache
def _morning(seed: int, hz: float, *, says_speed: bool = True) -> Morning:
    return alone(seed, Receiver(rate_hz=hz, trees=0, spikes=0, heart=False, says_speed=says_speed))


def _aside(one: Recording, lasts_s: float, far_m: float, *, ramp_s: float = 1e-6) -> Recording:
    """Return the recording with three blocks moved, in three directions; each is reached within the ramp."""
    east, north = to_plane(PLANE, one.latitude, one.longitude)
    since = one.time_s - one.time_s[0]
    for number, begin in enumerate(AT_S):
        share = np.clip(np.minimum(since - begin, begin + lasts_s - since) / ramp_s, 0.0, 1.0)
        angle = 0.7 + 2.0 * number
        east, north = east + share * far_m * np.cos(angle), north + share * far_m * np.sin(angle)
    latitude, longitude = from_plane(PLANE, east, north)
    return replace(one, latitude=latitude, longitude=longitude)


def _metres(track: Track) -> float:
    return float(track.along_m[-1])


def _off(track: Track, morning: Morning) -> float:
    """Return the worst error of a speed, m/s."""
    true = np.interp(track.time_s, morning.truth.time_s, morning.truth.speed_ms)
    return float(np.nanmax(np.abs(track.speed_ms - true)))


@pytest.mark.parametrize("hz", [1.0, 5.0, 10.0])
@pytest.mark.parametrize(("lasts", "far"), [(2.0, 20.0), (5.0, 18.0), (7.0, 60.0), (8.0, 150.0)])
@pytest.mark.parametrize("seed", [3, 8])
def test_blocks_thrown_aside_leave_no_metres(hz: float, lasts: float, far: float, seed: int) -> None:
    """Three blocks thrown aside for 2 to 8 s move the distance by less than 10 m and no speed by 3 m/s; it is said."""
    morning = _morning(seed, hz)
    clean, thrown = track_of(morning.recording), track_of(_aside(morning.recording, lasts, far))
    assert _metres(thrown) == pytest.approx(_metres(clean), abs=10.0)
    assert _off(thrown, morning) < _off(clean, morning) + 0.5 < 3.0
    said = {message.code: message.count for message in thrown.messages}
    count = said.get("positions_aside", 0) + said.get("positions_spiked", 0)
    assert 3 * lasts * hz - 3 <= count <= 3 * (lasts * hz + 2) + 3
    assert thrown.kept == pytest.approx(clean.kept - count / len(morning.recording), abs=0.001)
    assert (thrown.stretch == clean.stretch[0]).all()


@pytest.mark.parametrize("hz", [1.0, 5.0])
def test_without_the_receivers_speed_too(hz: float) -> None:
    """Where the receiver gives no speed of its own, blocks thrown aside for 5 s leave no metres either."""
    morning = _morning(3, hz, says_speed=False)
    clean, thrown = track_of(morning.recording), track_of(_aside(morning.recording, 5.0, 30.0))
    assert _metres(thrown) == pytest.approx(_metres(clean), abs=10.0)
    assert _off(thrown, morning) < 3.5


@pytest.mark.parametrize("hz", [1.0, 5.0])
def test_what_lasts_longer_stays_between_two_gaps(hz: float) -> None:
    """Blocks aside for 20 s stay, for a horse went that far there; each leap is a gap, so its metres do not count."""
    morning = _morning(3, hz)
    clean, thrown = track_of(morning.recording), track_of(_aside(morning.recording, 20.0, 40.0))
    assert thrown.kept == clean.kept
    assert thrown.stretch[-1] == 6
    assert {message.code: message.count for message in thrown.messages}["track_leaps"] == 6
    assert _metres(clean) - 60.0 < _metres(thrown) < _metres(clean) + 10.0


def test_places_that_glide_aside_within_two_seconds() -> None:
    """Blocks that take 2 s to be 40 m aside, and 2 s to be back, leave less than 30 m of 240."""
    morning = _morning(3, 5.0)
    clean, thrown = track_of(morning.recording), track_of(_aside(morning.recording, 8.0, 40.0, ramp_s=2.0))
    assert _metres(thrown) == pytest.approx(_metres(clean), abs=30.0)


@pytest.mark.parametrize("hz", [1.0, 5.0, 10.0])
@pytest.mark.parametrize("seed", range(6))
def test_a_morning_without_leaps_has_none(hz: float, seed: int) -> None:
    """Errors of 1.8 m that last and of 0.4 m that do not, and the slow drift of a receiver, throw nothing aside."""
    one = _morning(seed, hz).recording
    east, north = to_plane(PLANE, one.latitude, one.longitude)
    assert excursions_of(one.time_s, east, north) == ()
    drift = 15.0 * np.sin((one.time_s - one.time_s[0]) / 10.0)
    assert excursions_of(one.time_s, east + drift, north) == ()


@pytest.mark.parametrize("sd", [2.0, 4.0])
@pytest.mark.parametrize("hz", [1.0, 5.0])
def test_noise_throughout_is_left_to_the_smoother(hz: float, sd: float) -> None:
    """Where every place is wrong by 2 or 4 m, hardly any is taken for one that was thrown aside."""
    one = _morning(3, hz).recording
    east, north = to_plane(PLANE, one.latitude, one.longitude)
    dice = np.random.default_rng(5)
    found = excursions_of(one.time_s, east + dice.normal(0, sd, east.size), north + dice.normal(0, sd, east.size))
    assert len(found) <= 1


@pytest.mark.parametrize("hz", [1.0, 5.0, 10.0])
def test_what_a_horse_does_stays(hz: float) -> None:
    """A bolt from a walk, a stop from a gallop within three seconds, a turn on the spot and laps of a small ring stay.

    Sizes of the changes (4.5 m/s^2 at most) are common practice, no source.
    """
    step = 1 / 50
    speed = np.concatenate([
        np.full(1000, 1.7), np.linspace(1.7, 15, 150), np.full(500, 15.0), np.linspace(15, 1.5, 150),
        np.full(300, 1.5), np.full(3000, 4.0),
    ])  # fmt: skip
    turning = np.zeros(speed.size)
    turning[1900:2000] = np.pi / 2
    turning[-3000:] = 4.0 / 7.0
    heading = np.cumsum(turning) * step
    east, north = np.cumsum(speed * np.sin(heading)) * step, np.cumsum(speed * np.cos(heading)) * step
    rows = np.arange(0, speed.size, int(50 / hz))
    dice = np.random.default_rng(9)
    noisy = [values[rows] + dice.normal(0, 0.8, rows.size) for values in (east, north)]
    assert excursions_of(rows * step, *noisy) == ()


@pytest.mark.parametrize("seed", range(200))
def test_whatever_stands_in_a_track_leaps_lie_within_it(seed: int) -> None:
    """In tracks of any length, steps of time and blocks moved at random, leaps lie in order within the track."""
    rng = np.random.default_rng(seed)
    n = int(rng.integers(0, 400))
    steps = (
        rng.choice([1e-3, 0.1, 0.2, 1.0, 1.0, 4.0, 60.0, 1e6], n) if seed % 3 else np.full(n, rng.choice([0.1, 1.0]))
    )
    x, y = np.cumsum(rng.normal(0, rng.choice([0.1, 1.0, 50.0]), n)), np.cumsum(rng.normal(0, 1, n))
    for begin in rng.integers(0, max(n, 1), 5).tolist():
        x[begin : begin + int(rng.integers(1, 80))] += rng.normal(0, 60)
    found = excursions_of(np.cumsum(steps), np.round(x, 0 if seed % 5 else -1), y)
    assert all(0 <= one.before < one.after < n for one in found)
    assert all(one.after <= other.before + 1 for one, other in pairwise(found))
