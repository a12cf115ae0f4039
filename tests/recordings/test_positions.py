"""Positions that cannot be are left out, and only those."""

import numpy as np

from upsides.recordings.interleaved import apart
from upsides.recordings.plane import from_plane
from upsides.recordings.positions import Places, places_of
from upsides.recordings.recording import Recording
from upsides.recordings.track import Plane

HERE = Plane(51.0, -1.5)


def _lap(n: int = 300, hz: float = 1.0, speed: float = 12.0) -> tuple[np.ndarray, ...]:
    """Return times and places of a horse going round, with an error of a metre."""
    rng = np.random.default_rng(2)
    time = np.arange(n) / hz
    angle = speed * time / 250
    return time, 250 * np.sin(angle) + rng.normal(0, 1, n), 250 * np.cos(angle) + rng.normal(0, 1, n)


def _found(time: np.ndarray, east: np.ndarray, north: np.ndarray, speed: np.ndarray | None = None) -> Places:
    return places_of(time, *from_plane(HERE, east, north), np.full(time.size, np.nan) if speed is None else speed)


def _codes(places: Places) -> dict[str, int]:
    return {message.code: message.count for message in places.messages}


def test_a_good_lap_stays() -> None:
    """A fast lap with ordinary errors loses nothing and nothing is said of it."""
    for hz in (0.25, 1.0, 10.0):
        places = _found(*_lap(hz=hz, speed=18.0))
        assert np.isfinite(places.east_m).all()
        assert places.messages == ()


def test_positions_at_0_0_and_off_the_earth_are_left_out() -> None:
    """0,0 and latitudes above 90 are not positions."""
    time, east, north = _lap()
    latitude, longitude = from_plane(HERE, east, north)
    latitude[[5, 6]], longitude[[5, 6]] = 0.0, 0.0
    latitude[9] = 123.0
    places = places_of(time, latitude, longitude, np.full(time.size, np.nan))
    assert np.flatnonzero(np.isnan(places.east_m)).tolist() == [5, 6, 9]
    assert _codes(places) == {"positions_impossible": 1, "positions_zero": 2}
    assert places.given == 300


def test_spikes_are_left_out() -> None:
    """One, two and three positions in a row that jump 200 m to 5 km away and back are left out, and no other."""
    time, east, north = _lap()
    wrong = [50, 120, 121, 200, 201, 202]
    east[50] += 200
    north[[120, 121]] -= 600
    east[[200, 201, 202]] += 5000
    places = _found(time, east, north)
    assert np.flatnonzero(np.isnan(places.east_m)).tolist() == wrong
    assert _codes(places) == {"positions_spiked": 6}
    assert not places.leaps.any()


def test_stuck_positions_are_left_out_where_it_moves() -> None:
    """A position repeated for ten seconds at 12 m/s is stuck; repeated while standing it is right."""
    time, east, north = _lap()
    east[100:111], north[100:111] = east[100], north[100]
    moving = _found(time, east, north, np.full(300, 12.0))
    assert np.flatnonzero(np.isnan(moving.east_m)).tolist() == list(range(101, 111))
    assert _codes(moving) == {"positions_stuck": 10}
    still = _found(time, np.full(300, 3.0), np.full(300, 4.0), np.zeros(300))
    assert np.isfinite(still.east_m).all()


def test_stuck_positions_are_told_by_the_leap_after_them() -> None:
    """Without the receiver's speed, positions that stand for ten seconds and then leap 120 m were stuck."""
    time, east, north = _lap()
    east[100:111], north[100:111] = east[100], north[100]
    assert _codes(_found(time, east, north))["positions_stuck"] == 10


def test_the_start_before_the_receiver_found_itself_is_left_out() -> None:
    """Eight positions two kilometres off at the start are left out."""
    time, east, north = _lap()
    east[:8] -= 2000
    places = _found(time, east, north)
    assert np.flatnonzero(np.isnan(places.east_m)).tolist() == list(range(8))
    assert _codes(places) == {"start_lag": 8}


def test_a_leap_in_the_middle_begins_a_new_stretch() -> None:
    """A track that goes on half a kilometre away is kept on both sides of the leap."""
    time, east, north = _lap()
    east[150:] += 500
    places = _found(time, east, north)
    assert np.isfinite(places.east_m).all()
    assert np.flatnonzero(places.leaps).tolist() == [150]


def test_a_lorry_is_kept() -> None:
    """300 km/h held on is no spike: every position stays, and none is a leap."""
    time = np.arange(200.0)
    places = _found(time, 83.3 * time, 0 * time)
    assert np.isfinite(places.east_m).all()
    assert not places.leaps.any()


def test_nothing_at_all_has_no_plane() -> None:
    """Without a position there is no plane."""
    nothing = np.full(20, np.nan)
    places = places_of(np.arange(20.0), nothing, nothing, nothing)
    assert places.plane is None
    assert places.given == 0


def _two(second: np.ndarray, *, equal_times: bool) -> Recording:
    """Return one file in which two horses 300 m apart stand mixed; `second` says which fixes are the second's."""
    n = second.size
    time = np.arange(n) // 2 * 1.0 if equal_times else np.arange(n) * 0.5
    angle = 10 * time / 250
    east, north = 250 * np.sin(angle) + 300 * second, 250 * np.cos(angle)
    latitude, longitude = from_plane(HERE, east, north)
    return Recording.of_columns("two.gpx", "gpx", n, time_s=1.7e9 + time, latitude=latitude, longitude=longitude)


def test_two_devices_are_told_apart() -> None:
    """Fixes of two devices, strictly in turn or three to one, become two recordings with each its own."""
    for second, equal in ((np.arange(400) % 2 == 1, True), (np.arange(400) % 4 == 3, False)):
        parts = apart(_two(second, equal_times=equal))
        assert [len(part) for part in parts] == [int((~second).sum()), int(second.sum())]
        assert {message.code for part in parts for message in part.messages} == {"two_devices"}


def test_one_device_with_spikes_is_one() -> None:
    """Scattered spikes, even one in ten, do not make a second device; neither does a lorry."""
    rng = np.random.default_rng(4)
    time, east, north = _lap(600)
    wrong = rng.random(600) < 0.1
    east[wrong] += rng.normal(0, 3000, int(wrong.sum()))
    latitude, longitude = from_plane(HERE, east, north)
    one = Recording.of_columns("a.gpx", "gpx", 600, time_s=time, latitude=latitude, longitude=longitude)
    assert apart(one) == (one,)
    latitude, longitude = from_plane(HERE, 83.3 * time, 0 * time)
    lorry = Recording.of_columns("b.gpx", "gpx", 600, time_s=time, latitude=latitude, longitude=longitude)
    assert apart(lorry) == (lorry,)
