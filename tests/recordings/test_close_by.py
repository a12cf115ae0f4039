"""Two devices some metres apart in one file: taken apart where that can be, told where it cannot."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

import given_recordings as given
from upsides.demo.morning_sim.morning import alone, together
from upsides.demo.morning_sim.receiver import Receiver
from upsides.recordings.interleaved import apart
from upsides.recordings.measuring import measured
from upsides.recordings.recording import Recording
from upsides.recordings.tracking import track_of, tracks_of

STEADY = Receiver(rate_hz=5.0, heart=False)


def _mixed(one: Recording, other: Recording) -> tuple[Recording, NDArray[np.int64]]:
    """Return both as one file in order of time, and which fix is of the second."""
    own = np.r_[np.zeros(len(one), dtype=np.int64), np.ones(len(other), dtype=np.int64)]
    names = "time_s", "latitude", "longitude", "speed_ms"
    columns = {name: np.r_[getattr(one, name), getattr(other, name)] for name in names}
    rows = np.lexsort((own, columns["time_s"]))
    return Recording.of_columns("two.csv", "csv", own.size, **{k: v[rows] for k, v in columns.items()}), own[rows]


def _every(one: Recording, step: int, first: int = 0) -> Recording:
    """Return every so many fixes."""
    rows = np.arange(first, len(one), step)
    return Recording.of_columns(
        "a.csv",
        "csv",
        rows.size,
        time_s=one.time_s[rows],
        latitude=one.latitude[rows],
        longitude=one.longitude[rows],
        speed_ms=one.speed_ms[rows],
    )


@pytest.mark.parametrize("metres", [3.0, 8.0, 20.0, 40.0])
@pytest.mark.parametrize("where", ["beside_m", "behind_m"])
@pytest.mark.parametrize(("step", "second"), [(1, 0), (5, 0), (5, 2)])
def test_devices_some_metres_apart_are_taken_apart(metres: float, where: str, step: int, second: int) -> None:
    """Side by side or one behind the other, at 5 Hz or 1 Hz, at one time or in turn, each fix comes to its own."""
    off = {where: metres + (2.0 if where == "beside_m" else 0.0)}
    mixed, own = _mixed(_every(given.recording(), step), _every(given.recording(seed=2, **off), step, second))
    parts = apart(mixed)
    assert len(parts) == 2
    assert [len(part) for part in parts] == [int((own == 0).sum()), int((own == 1).sum())]
    assert {one.code for part in parts for one in part.messages} == {"two_devices"}
    alike = measured(track_of(given.recording())).works[0].metres
    for track in tracks_of(mixed):
        assert measured(track).works[0].metres == pytest.approx(alike, rel=0.02)


def test_devices_that_miss_fixes_are_taken_apart() -> None:
    """Two horses of a morning 20 m apart, with gaps, spikes and lost fixes: all but a few fixes come to their own."""
    rng = np.random.default_rng(1)
    first, second = (one.recording for one in together(0, (STEADY, STEADY)))
    second = replace(second, latitude=second.latitude + 20 / 111195)
    mixed, own = _mixed(_every(first, 1), _every(second, 1))
    left = np.flatnonzero(rng.random(own.size) >= 0.05)
    own = own[left]
    mixed = Recording.of_columns(
        "two.csv", "csv", left.size, **{k: getattr(mixed, k)[left] for k in ("time_s", "latitude", "longitude")}
    )
    told = apart(mixed)
    assert len(told) == 2
    for number, part in enumerate(told):
        true = mixed.latitude[own == number]
        assert len(part) == pytest.approx(true.size, abs=20)
        assert np.isin(part.latitude, true).mean() > 0.999


def test_two_that_work_upsides_are_told_and_nothing_is_concluded() -> None:
    """Two horses that come within a receiver's error of each other cannot be taken apart, and no speed is made up."""
    mixed, own = _mixed(*(one.recording for one in together(1, (STEADY, STEADY))))
    assert own.any()
    (one,) = apart(mixed)
    assert [message.code for message in one.messages] == ["two_places"]
    assert apart(one) == (one,)
    track = track_of(mixed)
    assert track.plane is None
    assert np.isnan(track.speed_ms).all()
    assert not {"no_positions", "positions_refused"} & {message.code for message in track.messages}
    assert measured(track).bouts == ()


@pytest.mark.parametrize("rate_hz", [1.0, 2.0, 5.0, 10.0])
@pytest.mark.parametrize("faults", [{}, {"white_m": 3.0}, {"slow_m": 5.0, "white_m": 1.5, "spikes": 8}])
def test_one_device_is_one(rate_hz: float, faults: dict[str, float]) -> None:
    """However noisy a receiver is, whether its times are whole seconds or each fix stands twice: it is one device."""
    one = alone(3, Receiver(rate_hz=rate_hz, heart=False, **faults)).recording  # type: ignore[arg-type]
    whole = replace(one, time_s=np.floor(one.time_s))
    twice = Recording.of_columns(
        "twice.csv",
        "csv",
        2 * len(one),
        time_s=np.repeat(one.time_s, 2) + np.tile([0.0, 0.5 / rate_hz], len(one)),
        latitude=np.repeat(one.latitude, 2),
        longitude=np.repeat(one.longitude, 2),
    )
    for told in (one, whole, twice):
        assert apart(told) == (told,)
