"""FIT, written: read back to the format's resolution, and read without a fault by the format's own library."""

import numpy as np
import pytest
from garmin_fit_sdk import Decoder, Stream

from upsides.recordings.formats.fit import read_fit, write_fit
from upsides.recordings.recording import Device, Motion, Recording, Speeds

START = 1_800_000_000.0
RESOLUTION = {
    "time_s": 0.00051,
    "latitude": 90 / 2**31,
    "longitude": 90 / 2**31,
    "height_m": 0.1,
    "speed_ms": 0.0005,
    "accuracy_m": 0.5,
    "distance_m": 0.005,
    "heart_bpm": 0.0,
}
"""Half a step of each field of the profile, but for the time, which is kept to a millisecond."""


def ridden(hertz: float, count: int = 600) -> Recording:
    """A recording with everything in it, and every seventh fix without a position and a heart rate."""
    dice = np.random.default_rng(int(hertz))
    gone = np.arange(count) % 7 == 3
    speed = dice.uniform(0, 17, count)
    return Recording.of_columns(
        "a.fit",
        "fit",
        count,
        time_s=START + np.arange(count) / hertz,
        latitude=np.where(gone, np.nan, -33.9 + np.cumsum(dice.normal(0, 1e-5, count))),
        longitude=np.where(gone, np.nan, 151.2 + np.cumsum(dice.normal(0, 1e-5, count))),
        height_m=dice.uniform(-300, 300, count),
        speed_ms=speed,
        accuracy_m=dice.uniform(1, 9, count),
        distance_m=np.cumsum(speed / hertz),
        heart_bpm=np.where(gone, np.nan, dice.integers(30, 240, count)),
        segment=(np.arange(count) // hertz // 20).astype(np.int64),
        device=Device("255", "11", "4242"),
        sport="horseback_riding",
        motion=Motion(START + 0.003 + np.arange(count * 5) / 100, dice.normal(0, 2, (count * 5, 3))),
    )


def close(read: Recording, written: Recording) -> None:
    for name, step in RESOLUTION.items():
        got, wanted = getattr(read, name), getattr(written, name)
        np.testing.assert_allclose(got, wanted, rtol=0, atol=step + 1e-9, err_msg=name)


@pytest.mark.parametrize("hertz", [1.0, 5.0, 10.0])
def test_a_recording_comes_back(hertz: float) -> None:
    """What is written comes back to the resolution of each field, at 1, 5 and 10 Hz, without a message."""
    written = ridden(hertz)
    (read,) = read_fit(write_fit(written), "a.fit")
    close(read, written)
    assert np.array_equal(read.segment, written.segment)
    assert (read.device, read.sport, read.messages) == (written.device, written.sport, ())
    assert read.motion is not None
    assert written.motion is not None
    np.testing.assert_allclose(read.motion.time_s, written.motion.time_s, atol=0.00051)
    np.testing.assert_allclose(read.motion.g, written.motion.g, atol=0.00051)


def test_the_formats_own_library_reads_it() -> None:
    """The format's own library finds the file whole, reads it without an error, and reads the same records."""
    written = ridden(5.0)
    data = bytearray(write_fit(written))
    assert Decoder(Stream.from_byte_array(data)).check_integrity()
    told, errors = Decoder(Stream.from_byte_array(data)).read(convert_datetimes_to_dates=False)
    assert errors == []
    records = told["record_mesgs"]
    time = [record["timestamp"] + record["time128"] for record in records]
    np.testing.assert_allclose(time, written.time_s - 631_065_600, atol=1 / 256 + 1e-9)
    speed = [record["enhanced_speed"] for record in records]
    np.testing.assert_allclose(speed, written.speed_ms, atol=0.0005 + 1e-9)
    height = [record["enhanced_altitude"] for record in records]
    np.testing.assert_allclose(height, written.height_m, atol=0.1 + 1e-9)
    assert [record["developer_fields"][0] for record in records[:6]] == [0, 200, 400, 600, 800, 0]
    (session,) = told["session_mesgs"]
    assert (session["sport"], session["num_laps"], session["total_elapsed_time"]) == ("horseback_riding", 6, 119.8)
    samples = np.concatenate([one["compressed_calibrated_accel_x"] for one in told["accelerometer_data_mesgs"]])
    assert written.motion is not None
    given = np.array([np.nan if sample is None else sample for sample in samples], dtype=np.float64)
    np.testing.assert_allclose(given[np.isfinite(given)] / 1000, written.motion.g[:, 0], atol=0.00051)


def test_whole_seconds_need_no_parts() -> None:
    """At 1 Hz no field for parts of a second is written."""
    data = write_fit(ridden(1.0))
    told, _ = Decoder(Stream.from_byte_array(bytearray(data))).read()
    assert not {"time128", "developer_fields"} & set(told["record_mesgs"][0])


def test_nothing_is_written_as_nothing() -> None:
    """A recording without times, one without fixes, and numbers that no field holds come back as nothing."""
    (read,) = read_fit(write_fit(Recording.of_columns("a", "fit", 3, heart_bpm=np.array([80.0, 300, -1]))), "a.fit")
    assert np.isnan(read.time_s).all()
    np.testing.assert_array_equal(read.heart_bpm, [80, np.nan, np.nan])
    (read,) = read_fit(write_fit(Recording.of_columns("a", "fit", 0)), "a.fit")
    assert len(read) == 0
    odd = Recording.of_columns("a", "fit", 2, time_s=np.array([START, -1e12]), speed_ms=np.array([np.inf, 1e300]))
    (read,) = read_fit(write_fit(odd), "a.fit")
    np.testing.assert_array_equal(read.time_s, [START, np.nan])
    assert np.isnan(read.speed_ms).all()


def test_an_accuracy_is_never_nought() -> None:
    """A receiver that was sure to 0.2 m is not written as one without error."""
    (read,) = read_fit(write_fit(Recording.of_columns("a", "fit", 2, accuracy_m=np.array([0.2, np.nan]))), "a.fit")
    np.testing.assert_array_equal(read.accuracy_m, [1.0, np.nan])


@pytest.mark.parametrize(
    ("given", "told"),
    [
        (Device("255", "collar three", "12"), Device("255", "collar three", "12")),
        (Device("a maker", "", "S-9"), Device("255", "", "")),
        (Device("70000", "7", "99999999999"), Device("255", "7", "")),
    ],
)
def test_devices(given: Device, told: Device) -> None:
    """Names of products and numbers come back; names of makers and other serials are not kept by the format."""
    (read,) = read_fit(write_fit(Recording.of_columns("a", "fit", 1, time_s=np.array([START]), device=given)), "a.fit")
    assert read.device == told


def test_gaps_and_steps_back_of_acceleration() -> None:
    """Samples far apart, and samples whose times step back, keep their times; one without a time is left out."""
    time = START + np.concatenate([np.arange(50) / 50, 1e5 + np.arange(40) / 50, np.arange(5) / 50, [np.nan]])
    motion = Motion(time, np.full((time.size, 3), 1.0))
    (read,) = read_fit(write_fit(Recording.of_columns("a", "fit", 1, motion=motion)), "a.fit")
    assert read.motion is not None
    np.testing.assert_allclose(read.motion.time_s, time[:-1], atol=0.00051)


def dense(seconds: int = 60) -> Recording:
    """One fix a second, with acceleration 50 times and speed 10 times a second."""
    dice = np.random.default_rng(3)
    last = START + seconds - 1
    return Recording.of_columns(
        "a.fit",
        "fit",
        seconds,
        time_s=START + np.arange(seconds),
        speed_ms=np.full(seconds, 9.0),
        motion=Motion(last - np.arange(50 * (seconds - 1))[::-1] / 50, dice.normal(0, 2, (50 * (seconds - 1), 3))),
        speeds=Speeds(last - np.arange(10 * (seconds - 1))[::-1] / 10, dice.uniform(0, 17, 10 * (seconds - 1))),
    )


def test_what_records_hold_many_times_comes_back() -> None:
    """Acceleration and speed in developers' fields of records come back at their times, to 1/1000 g and 1 cm/s."""
    written = dense()
    (read,) = read_fit(write_fit(written, in_records=True), "a.fit")
    for got, wanted in ((read.motion, written.motion), (read.speeds, written.speeds)):
        assert got is not None
        assert wanted is not None
        np.testing.assert_allclose(got.time_s, wanted.time_s, atol=1e-6)
    assert read.motion is not None
    assert written.motion is not None
    np.testing.assert_allclose(read.motion.g, written.motion.g, atol=0.00051)
    assert read.speeds is not None
    assert written.speeds is not None
    np.testing.assert_allclose(read.speeds.ms, written.speeds.ms, atol=0.0051)


def test_the_formats_own_library_reads_what_records_hold_many_times() -> None:
    """The format's own library (garmin-fit-sdk 21) reads the same arrays out of the same records, without an error."""
    written = dense()
    data = bytearray(write_fit(written, in_records=True))
    assert Decoder(Stream.from_byte_array(data)).check_integrity()
    told, errors = Decoder(Stream.from_byte_array(data)).read(convert_datetimes_to_dates=False)
    assert errors == []
    named = {one["key"]: one["field_name"] for one in told["field_description_mesgs"]}
    fields: dict[str, list[float]] = {name: [] for name in named.values()}
    for record in told["record_mesgs"][1:]:
        for key, values in record["developer_fields"].items():
            fields[named[key]] += values if isinstance(values, list) else [values]
    (read,) = read_fit(bytes(data), "a.fit")
    assert read.motion is not None
    assert read.speeds is not None
    for axis, name in enumerate(("accel_x", "accel_y", "accel_z")):
        np.testing.assert_allclose(read.motion.g[:, axis] * 1000, fields[name], rtol=0, atol=1e-9)
    np.testing.assert_allclose(read.speeds.ms, np.array(fields["speed"]) / 100, rtol=0, atol=1e-9)


def test_more_than_a_field_holds_is_left_out() -> None:
    """Of 200 samples in a record the last hundred are written, and nothing is refused."""
    motion = Motion(START + np.arange(1000) / 200, np.zeros((1000, 3)))
    written = Recording.of_columns("a.fit", "fit", 5, time_s=START + np.arange(5.0), motion=motion)
    data = write_fit(written, in_records=True)
    assert Decoder(Stream.from_byte_array(bytearray(data))).check_integrity()
    (read,) = read_fit(data, "a.fit")
    assert read.motion is not None
    assert read.motion.time_s.size == 401
