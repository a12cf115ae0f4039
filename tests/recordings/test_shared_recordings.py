"""The 61 real recordings, against what independent readers counted in them, and against each other."""

import csv
import os
from datetime import UTC, datetime
from itertools import pairwise
from pathlib import Path

import gpxpy
import gpxpy.geo
import numpy as np
import pytest

from upsides.recordings.opening import read_all, read_path
from upsides.recordings.recording import Recording
from upsides.recordings.summary import summary

FOLDER = Path(os.environ.get("UPSIDES_SHARED") or Path(__file__).parents[3] / "shared" / "data") / "recordings"
EARTH_M = 6_371_008.8  # mean radius
# What the index says nothing of, because strict readers refuse the file, or its times are of no day.
BROKEN = {
    "gpx_undeclared_namespace.gpx": (4040, 4040, 0, "undeclared_prefix"),  # 4040 times "<trkpt", no heart in it
    "fit_truncated_eof.fit": (14, 14, 0, "ends_early"),
    "fit_trailing_eof.fit": (14391, 14391, 14387, "crc_wrong"),
    "fit_undefined_local_message.fit": (5329, 2657, 0, "undefined"),
}


def rows() -> list[dict[str, str]]:
    """Return the rows of the index, none where the shared data is absent."""
    if not FOLDER.is_dir():
        return []
    with (FOLDER / "INDEX.csv").open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


INDEX = {row["file"]: row for row in rows()}
needs_shared = pytest.mark.skipif(not INDEX, reason="the shared data is not here: set UPSIDES_SHARED to its folder")
pytestmark = needs_shared


def one(name: str) -> Recording:
    (recording,) = read_path(FOLDER / name)
    return recording


def steps(recording: Recording) -> np.ndarray:
    return np.diff(recording.time_s[np.isfinite(recording.time_s)])


def distance_m(recording: Recording) -> float:
    """Return the sum of the great-circle distances between positions, by the haversine formula, m."""
    placed = np.isfinite(recording.latitude)
    north, east = np.radians(recording.latitude[placed]), np.radians(recording.longitude[placed])
    half = np.sin(np.diff(north) / 2) ** 2 + np.cos(north[1:]) * np.cos(north[:-1]) * np.sin(np.diff(east) / 2) ** 2
    return float(2 * EARTH_M * np.arcsin(np.sqrt(half)).sum())


def test_all_are_there() -> None:
    """The index lists 61 files, and each gives exactly one recording and no error."""
    opened = list(read_all(FOLDER / name for name in INDEX))
    assert len(opened) == len(INDEX) == 61
    assert [(Path(found.file).name, found.error) for found in opened if found.error or len(found.recordings) != 1] == []


@pytest.mark.parametrize("name", [name for name in INDEX if name not in BROKEN])
def test_counts_are_those_of_the_index(name: str) -> None:
    """Fixes, those with position, heart and height are as many as independent readers counted."""
    row, recording = INDEX[name], one(name)
    assert len(recording) == int(row["points"])
    assert recording.with_position == int(row["points_with_position"] or 0)
    assert recording.with_heart == int(row["points_with_hr"] or 0)
    assert int(np.isfinite(recording.height_m).sum()) == int(row["points_with_elevation"] or 0)


@pytest.mark.parametrize("name", [name for name, row in INDEX.items() if row["start_utc"]])
def test_times_are_those_of_the_index(name: str) -> None:
    """Start, minutes, longest gap, steps back and repeated times are those that independent readers found.

    The minutes are the sum of the steps forward, to the index's one decimal; the start is to its second.
    """
    row, recording = INDEX[name], one(name)
    start = datetime.strptime(row["start_utc"], "%Y-%m-%d %H:%M:%S").replace(tzinfo=UTC).timestamp()
    timed, step = recording.time_s[np.isfinite(recording.time_s)], steps(recording)
    assert start <= timed[0] < start + 1
    assert step[step > 0].sum() / 60 == pytest.approx(float(row["minutes"]), abs=0.0501)
    assert step.max() == pytest.approx(float(row["longest_gap_s"]), abs=1e-6)
    assert int((step < 0).sum()) == int(row["backward_steps"])
    assert int((step == 0).sum()) == int(row["duplicate_times"])


@pytest.mark.parametrize("name", BROKEN)
def test_broken_files_are_recovered_and_say_so(name: str) -> None:
    """A file that strict readers refuse gives what stands in it, and a message says what is wrong."""
    fixes, placed, hearts, code = BROKEN[name]
    recording = one(name)
    assert (len(recording), recording.with_position, recording.with_heart) == (fixes, placed, hearts)
    assert code in {message.code for message in recording.messages}


@pytest.mark.parametrize(
    "name", [name for name, row in INDEX.items() if "'" in row["sport"] and row["sport"].count(":") == 1]
)
def test_the_sport_is_the_file_s_word(name: str) -> None:
    """The sport of a file that names one is that word."""
    assert one(name).sport == INDEX[name]["sport"].split("'")[1]


@pytest.mark.parametrize("name", [name for name in INDEX if name.endswith(".gpx") and name not in BROKEN])
def test_gpx_point_by_point_as_gpxpy_reads_it(name: str) -> None:
    """Every position, height and time is what gpxpy gives, and so is the distance, by its own formula and radius."""
    document = gpxpy.parse((FOLDER / name).read_bytes())
    points = [point for track in document.tracks for segment in track.segments for point in segment.points]
    recording = one(name)
    told = np.array([(p.latitude, p.longitude, np.nan if p.elevation is None else p.elevation) for p in points])
    read = np.stack([recording.latitude, recording.longitude, recording.height_m], axis=1)
    assert np.array_equal(read, told.reshape(-1, 3), equal_nan=True)
    times = np.array([point.time.timestamp() if point.time else np.nan for point in points])
    # gpxpy keeps the first six digits of a fraction, and so do we; floats of 1.7e9 s hold a quarter of a microsecond
    assert np.allclose(recording.time_s, times, rtol=0, atol=1e-6, equal_nan=True)
    theirs = sum(
        gpxpy.geo.haversine_distance(a.latitude, a.longitude, b.latitude, b.longitude) for a, b in pairwise(points)
    )
    assert distance_m(recording) / EARTH_M == pytest.approx(theirs / gpxpy.geo.EARTH_RADIUS, rel=1e-9)


# Positions of FIT are whole semicircles of 8.4e-8 degrees, 9 mm; the other formats write them out with more digits.
# So files of one session must agree fix by fix within half of one, and in distance within 1e-5 of itself.
SEMICIRCLE = 180 / 2**31


ONE_SESSION = [
    ("x1_ride_hr.fit", "x1_ride_hr.gpx"),
    ("x1_ride_hr.fit", "x1_ride_hr.tcx"),
    ("x2_run_hr.fit", "x2_run_hr.gpx"),
    ("x3_pause_events.fit", "x3_pause_records_removed.fit"),
    ("x4_ride_edge500.fit", "x4_ride_edge500_records.csv"),
    ("x5_run_hr.tcx", "x5_run_hr_removed.tcx"),
]


@pytest.mark.parametrize(("name", "other"), ONE_SESSION)
def test_files_of_one_session_agree(name: str, other: str) -> None:
    """Two files of one session agree in distance to 1e-5, and at shared times in position and heart, as far as given.

    Heart must be equal to the beat: all formats write whole beats. Only the fixes at which both have one are compared.
    """
    first, second = one(name), one(other)
    assert distance_m(first) == pytest.approx(distance_m(second), rel=1e-5)
    _, mine, theirs = np.intersect1d(first.time_s, second.time_s, return_indices=True)
    assert mine.size >= 0.98 * min(len(first), len(second))
    for column, tolerance in (("latitude", SEMICIRCLE / 2), ("longitude", SEMICIRCLE / 2), ("heart_bpm", 0)):
        off = np.abs(getattr(first, column)[mine] - getattr(second, column)[theirs])
        assert np.nanmax(off, initial=0.0) <= tolerance


@pytest.mark.parametrize(
    ("name", "other", "seconds"),
    [
        ("x1_ride_hr.fit", "x1_ride_hr.gpx", 0),
        ("x1_ride_hr.fit", "x1_ride_hr.tcx", 0),
        ("x2_run_hr.fit", "x2_run_hr.gpx", 7),  # the FIT file ends with a record without position, 7 s later
        ("x3_pause_events.fit", "x3_pause_records_removed.fit", 0),
        ("x4_ride_edge500.fit", "x4_ride_edge500_records.csv", 0),
        ("x5_run_hr.tcx", "x5_run_hr_removed.tcx", 0),
    ],
)
def test_files_of_one_session_last_as_long(name: str, other: str, seconds: int) -> None:
    """Two files of one session begin at the same second and last as long, to what the files themselves differ in."""
    first, second = one(name), one(other)
    assert first.time_s[0] == second.time_s[0]
    assert first.time_s[-1] - second.time_s[-1] == seconds


@pytest.mark.parametrize(("name", "other"), ONE_SESSION)
def test_what_is_told_of_one_session_agrees(name: str, other: str) -> None:
    """What is told of two files of one session agrees within 1 % of the distance and one beat of the heart.

    Wider than what is read: where a format leaves out the receiver's own speed, the smoother has places alone.
    """
    told = [summary(next(iter(read_all([FOLDER / file])))) for file in (name, other)]
    assert told[0].distance_m == pytest.approx(told[1].distance_m, rel=0.01)
    hearts = [one.heart for one in told if one.heart is not None]
    for key in ("mean", "max"):
        assert np.ptp([heart[key] for heart in hearts]) <= 1.0


def test_the_table_repeats_what_the_device_did_not_say() -> None:
    """Where the FIT file has no position (9 records) its table repeats the one before: nothing else is different."""
    device, table = one("x4_ride_edge500.fit"), one("x4_ride_edge500_records.csv")
    differ = np.flatnonzero(np.isnan(device.latitude))
    assert differ.size == 9
    assert table.latitude[differ].tolist() == table.latitude[differ - 1].tolist()
    assert device.speed_ms == pytest.approx(table.speed_ms, abs=1e-9, nan_ok=True)
