"""From recordings to tracks: simulated mornings with known truth, bad input, and the shared recordings."""

import csv
import os
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from upsides.errors import TooLittleLeftError, TwoDevicesError
from upsides.recordings.elevation import read_tile
from upsides.recordings.measuring import measured
from upsides.recordings.noise import USUAL_Q, noise_of
from upsides.recordings.opening import read_path
from upsides.recordings.picking import columns_of, picked
from upsides.recordings.plane import from_plane
from upsides.recordings.reach import RECORDS
from upsides.recordings.recording import Message, Recording
from upsides.recordings.track import Plane, Track
from upsides.recordings.tracking import Settings, track_of, tracks_of

START = 1.7e9
KNOTS = np.array([
    [0, 0], [60, 0], [66, 1.7], [300, 1.7], [308, 4.0], [480, 4.2], [500, 9.0], [560, 9.5], [580, 14.5], [610, 16.5],
    [640, 16.5], [665, 12], [700, 4], [720, 1.6], [900, 1.6], [905, 0], [1200, 0],
])  # fmt: skip
"""Seconds and m/s of a morning: it stands, walks, trots, canters, works, walks home and stands five minutes."""


def _morning(hz: float = 5.0, sd: float = 1.0, *, own: float | None = None, at: Plane | None = None) -> tuple:
    """Return a recording of a morning with errors of `sd` m and `own` m/s, and its true speed."""
    rng = np.random.default_rng(21)
    time = np.arange(int(1200 * hz)) / hz
    speed = np.interp(time, *KNOTS.T)
    heading = np.cumsum(speed / 400) / hz
    east = np.cumsum(speed * np.sin(heading)) / hz + rng.normal(0, sd, time.size)
    north = np.cumsum(speed * np.cos(heading)) / hz + rng.normal(0, sd, time.size)
    latitude, longitude = from_plane(at or Plane(51.0, -1.5), east, north)
    columns = {"time_s": START + time, "latitude": latitude, "longitude": longitude}
    if own is not None:
        columns["speed_ms"] = np.abs(speed + rng.normal(0, own, time.size))
    return Recording.of_columns("morning.fit", "fit", time.size, **columns), speed


def _codes(track: Track) -> list[str]:
    return [message.code for message in track.messages]


def _distance(track: Track) -> float:
    return float(track.along_m[-1])


@pytest.mark.parametrize("hz", [1.0, 5.0, 10.0])
@pytest.mark.parametrize("own", [None, 0.15])
def test_a_morning_is_what_it_was(hz: float, own: float | None) -> None:
    """Speed is right within its error bars at 95 % of moments on the move, and distance within 1 %."""
    recording, speed = _morning(hz, own=own)
    track = track_of(recording)
    going = speed > 0.5
    inside = np.abs(track.speed_ms - speed) < 1.96 * track.speed_sd_ms
    assert inside[going].mean() > 0.93
    assert np.sqrt(np.mean((track.speed_ms - speed)[going] ** 2)) < (0.35 if own is None else 0.2)
    assert _distance(track) == pytest.approx(float(speed.sum() / hz), rel=0.01)
    assert (track.kept, track.messages) == (1.0, ())
    assert (track.stretch == 0).all()


def test_the_receivers_speed_makes_speed_better() -> None:
    """With the receiver's own speed the error of speed on the move is less than two thirds of that without."""
    errors = []
    for own in (None, 0.15):
        recording, speed = _morning(own=own)
        errors.append(np.std((track_of(recording).speed_ms - speed)[speed > 0.5]))
    assert errors[1] < errors[0] * 2 / 3


def test_distance_is_not_the_sum_of_noisy_steps() -> None:
    """Where steps between places add up to 50 % too much and more, the distance is right within 1 %."""
    recording, speed = _morning(5.0, 1.0)
    track = track_of(recording)
    steps = np.hypot(
        np.diff(recording.latitude) * 111_195,
        np.diff(recording.longitude) * 111_195 * np.cos(np.radians(51)),
    ).sum()
    assert steps > 1.5 * speed.sum() / 5
    assert _distance(track) == pytest.approx(float(speed.sum() / 5), rel=0.01)


@pytest.mark.parametrize("sd", [0.5, 3.0])
def test_standing_is_not_turned_into_movement(sd: float) -> None:
    """An hour of standing with errors of half a metre or three makes less than 10 m, and a walk stays a walk."""
    rng = np.random.default_rng(22)
    latitude, longitude = from_plane(Plane(51.0, -1.5), rng.normal(0, sd, 3600), rng.normal(0, sd, 3600))
    still = Recording.of_columns(
        "box.gpx", "gpx", 3600, time_s=START + np.arange(3600.0), latitude=latitude, longitude=longitude
    )
    assert _distance(track_of(still)) < 10
    recording, speed = _morning(1.0, sd)
    walking = (speed > 1.5) & (speed < 1.8)
    assert (track_of(recording).speed_ms[walking] > 0).mean() > 0.98


def test_a_gap_begins_a_stretch_and_is_not_bridged() -> None:
    """With 40 s of a canter missing there are two stretches, and the distance lacks what was gone in the gap."""
    recording, speed = _morning(1.0)
    there = np.ones(1200, dtype=bool)
    there[510:550] = False
    columns = {name: getattr(recording, name)[there] for name in ("time_s", "latitude", "longitude")}
    track = track_of(Recording.of_columns("a.fit", "fit", int(there.sum()), **columns))
    assert track.stretch[[509, 510]].tolist() == [0, 1]
    assert _distance(track) == pytest.approx(float(speed.sum() - speed[510:550].sum()), rel=0.015)
    assert _codes(track) == ["gaps"]


def test_a_heart_goes_on_where_the_positions_have_a_gap() -> None:
    """While positions are missing for 40 s, places and speed are not numbers, and the heart is there."""
    recording, _ = _morning(1.0)
    latitude = recording.latitude.copy()
    latitude[510:550] = np.nan
    heart = np.round(100 + 20 * np.sin(np.arange(1200) / 100))
    track = track_of(replace(recording, latitude=latitude, heart_bpm=heart))
    assert np.isnan(track.speed_ms[510:550]).all()
    assert np.isfinite(track.speed_ms[550:]).all()
    assert (np.diff(track.along_m[509:550]) == 0).all()
    assert np.isfinite(track.heart_bpm).all()
    assert track.heart_kept == 1.0


def test_a_few_seconds_are_bridged_with_wider_error() -> None:
    """Over six seconds without a position speed goes on, with a larger standard deviation in the middle."""
    recording, _ = _morning(1.0)
    latitude = recording.latitude.copy()
    latitude[520:526] = np.nan
    track = track_of(replace(recording, latitude=latitude))
    assert np.isfinite(track.speed_ms).all()
    assert (track.stretch == 0).all()
    assert track.speed_sd_ms[523] > 1.1 * track.speed_sd_ms[560]


@pytest.mark.parametrize("at", [Plane(10.0, 179.999), Plane(89.999, 0.0), Plane(-89.9999, 45.0), Plane(0.0, -180.0)])
def test_date_line_and_poles_are_nothing_special(at: Plane) -> None:
    """Over the date line and beside a pole the same morning gives the same distance and speeds."""
    here, there = track_of(_morning(1.0)[0]), track_of(_morning(1.0, at=at)[0])
    assert _distance(there) == pytest.approx(_distance(here), rel=1e-4)
    np.testing.assert_allclose(there.speed_ms, here.speed_ms, atol=0.02)


def test_ten_years_lie_between() -> None:
    """A clock set on the way, ten years on: two stretches, the right distance, and it is said."""
    recording, speed = _morning(1.0)
    time = recording.time_s.copy()
    time[600:] += 3652 * 86400.0
    track = track_of(replace(recording, time_s=time))
    assert track.stretch[[599, 600]].tolist() == [0, 1]
    assert _distance(track) == pytest.approx(float(speed.sum()), rel=0.015)
    assert _codes(track) == ["days_between", "gaps"]
    assert "the longest of 3652 days;" in track.messages[1].text


def test_300_km_an_hour_are_no_horse() -> None:
    """Ten minutes at 300 km/h are kept as they are, and said to be no horse."""
    time = np.arange(600.0)
    latitude, longitude = from_plane(Plane(51.0, -1.5), 83.33 * time, np.zeros(600))
    track = track_of(
        Recording.of_columns("a.gpx", "gpx", 600, time_s=START + time, latitude=latitude, longitude=longitude)
    )
    assert np.median(track.speed_ms) == pytest.approx(83.33, abs=0.5)
    assert _codes(track) == ["not_a_horse"]
    assert "100%" in track.messages[0].text


@pytest.mark.parametrize(("speed", "odd"), [(22.0, True), (17.0, True), (15.5, False)])
def test_a_speed_held_for_longer_than_any_horse_holds_it_is_said(speed: float, odd: bool) -> None:  # noqa: FBT001 -- a case
    """Half an hour at 22 or 17 m/s is no horse, by record times over up to two miles; at 15.5 m/s nothing is said."""
    time = np.arange(1800.0)
    latitude, longitude = from_plane(Plane(51.0, -1.5), speed * time, np.zeros(1800))
    track = track_of(
        Recording.of_columns("a.gpx", "gpx", 1800, time_s=START + time, latitude=latitude, longitude=longitude)
    )
    assert _codes(track) == (["beyond_records"] if odd else [])
    told = measured(track)
    assert told.odd is odd
    assert (told.fast_m > 0, bool(told.speeds)) == (not odd, not odd)


def test_records_are_those_of_the_reference() -> None:
    """Distances and times are those of the shared table of public record times."""
    shared = Path(os.environ.get("UPSIDES_SHARED") or Path(__file__).parents[3] / "shared" / "data")
    place = shared.parent / "reference" / "record_times.csv"
    if not place.is_file():
        pytest.skip(f"{place} is not there")
    rows = list(csv.DictReader(line for line in place.read_text().splitlines() if not line.startswith("#")))
    listed = {(float(row["distance_m"]), float(row["seconds"])) for row in rows}
    assert set(RECORDS) <= listed


def test_another_sport_is_said() -> None:
    """A file that calls itself cycling says so; riding, nothing in particular and nothing at all say nothing."""
    recording, _ = _morning(1.0)
    assert _codes(track_of(replace(recording, sport="cycling"))) == ["another_sport"]
    assert "cycling" in track_of(replace(recording, sport="cycling")).messages[0].text
    for quiet in ("horseback_riding", "Horse Riding", "generic", "sport 53", "9", ""):
        assert _codes(track_of(replace(recording, sport=quiet))) == []


def test_no_highest_speed_is_told_of_a_bout_of_a_few_seconds() -> None:
    """Of a bout shorter than ten seconds no highest speed is told, which could lie below its mean."""
    whole = _morning(hz=5.0)[0]
    short = picked(whole, np.arange(600, 640), columns_of(whole), Message("no_fixes"))
    assert np.isnan([one.top_ms for one in measured(track_of(short)).bouts]).all()
    assert np.isfinite([one.top_ms for one in measured(track_of(whole)).bouts if one.seconds >= 10.0]).all()


def test_a_file_written_newest_first_is_the_same_track() -> None:
    """The same fixes written newest first give the same distance as written forward."""
    forward = _morning(hz=1.0)[0]
    backward = picked(forward, np.arange(len(forward))[::-1], columns_of(forward), Message("no_fixes"))
    assert _distance(track_of(backward)) == pytest.approx(_distance(track_of(forward)), rel=1e-3)


def test_stretches_of_one_fix_each_teach_nothing_about_the_receiver() -> None:
    """Where every fix is a stretch of its own, the usual errors are taken, without a warning of empty means."""
    each, place = np.ones(60, dtype=np.bool_), np.arange(60.0)
    assert noise_of(np.ones(60), each, place, place, np.full(60, 9.0)) == (USUAL_Q, 1.0)


@pytest.mark.parametrize(("step_s", "told"), [(5, True), (10, True), (15, False), (30, False)])
def test_rare_places_tell_neither_fast_work_nor_furlongs(step_s: int, told: bool) -> None:  # noqa: FBT001 -- a case
    """Where places come more rarely than every ten seconds, no fast work and no furlong is told, and that is said."""
    whole = _morning(hz=1.0)[0]
    some = picked(whole, np.arange(0, len(whole), step_s), columns_of(whole), Message("no_fixes"))
    track = track_of(some)
    found = measured(track)
    assert ("fixes_rare" not in _codes(track)) == told
    assert any(one.kind == "fast" for one in (*found.bouts, *found.works)) == told
    assert any(one.furlongs or one.best for one in (*found.bouts, *found.works)) == told
    assert bool(found.speeds) == told
    assert found.works


def test_too_few_good_positions_are_refused_and_the_heart_stays() -> None:
    """With 60 % of the positions at 0,0 no place and no speed is given; the heart is, and the reason is said."""
    recording, _ = _morning(1.0)
    wrong = np.random.default_rng(23).random(1200) < 0.6
    track = track_of(
        replace(
            recording,
            latitude=np.where(wrong, 0.0, recording.latitude),
            longitude=np.where(wrong, 0.0, recording.longitude),
            heart_bpm=np.full(1200, 90.0) + np.arange(1200) % 7,
        )
    )
    assert track.plane is None
    assert np.isnan(track.speed_ms).all()
    assert track.kept == pytest.approx(1 - wrong.mean(), abs=0.01)
    assert np.isfinite(track.heart_bpm).all()
    assert "positions_refused" in _codes(track)
    assert track_of(replace(recording), settings=Settings(least_kept=0.99)).plane is not None


def test_two_devices_are_refused_as_one_and_taken_as_two() -> None:
    """Two trackers mixed in one file are no track; taken apart they are two, each with the right distance."""
    one, speed = _morning(1.0)
    other, _ = _morning(1.0, at=Plane(51.02, -1.5))
    mixed = np.repeat(np.arange(1200), 2)
    second = np.arange(2400) % 2 == 1
    columns = {
        name: np.where(second, getattr(other, name)[mixed], getattr(one, name)[mixed])
        for name in ("time_s", "latitude", "longitude")
    }
    recording = Recording.of_columns("two.csv", "csv", 2400, **columns)
    with pytest.raises(TwoDevicesError, match=r"two\.csv"):
        track_of(recording)
    tracks = tracks_of(recording)
    assert [_distance(track) == pytest.approx(float(speed.sum()), rel=0.01) for track in tracks] == [True, True]


@pytest.mark.parametrize("seed", range(30))
def test_nonsense_gives_a_track_or_a_plain_refusal(seed: int) -> None:
    """Whatever stands in the columns, a track has rising times and finite speeds outside gaps, or is refused."""
    rng = np.random.default_rng(seed)
    n = int(rng.integers(0, 60))
    names = ("time_s", "latitude", "longitude", "height_m", "speed_ms", "accuracy_m", "distance_m", "heart_bpm")
    odd = np.array([np.nan, 0.0, -1.0, 255.0, 1e6, -1e9, 90.0, 180.0, 1e-9, 51.0])
    columns = {name: np.where(rng.random(n) < 0.5, rng.choice(odd, n), rng.normal(51, 1, n)) for name in names}
    if seed % 3:
        columns["time_s"] = np.sort(np.round(rng.uniform(0, 200, n)))
    recording = Recording.of_columns("odd.csv", "csv", n, **columns)
    try:
        tracks = tracks_of(recording)
    except TooLittleLeftError:
        return
    for track in tracks:
        assert (np.diff(track.time_s) > 0).all()
        assert 0 <= track.kept <= 1
        assert not np.isinf(track.speed_ms).any()
        assert (np.diff(track.along_m[np.isfinite(track.along_m)]) >= 0).all()


@pytest.fixture(scope="module")
def shared() -> Path:
    folder = Path(os.environ.get("UPSIDES_SHARED") or Path(__file__).parents[3] / "shared" / "data")
    if not (folder / "recordings").is_dir():
        pytest.skip("the shared recordings are not here: set UPSIDES_SHARED to the folder of shared data")
    return folder


def _shared(folder: Path, name: str) -> tuple[Recording, Track]:
    recording = read_path(folder / "recordings" / name)[0]
    return recording, track_of(recording)


@pytest.mark.parametrize(
    "name",
    [
        "x1_ride_hr.fit", "x1_ride_hr.tcx", "x2_run_hr.fit", "x3_pause_events.fit", "x4_ride_edge500.fit",
        "x5_run_hr.tcx", "fit_run_fenix2.fit", "fit_ride_1hz_hr.fit", "fit_27_day_gap.fit", "tcx_ride_no_hr.tcx",
        "tcx_ride_hr_fast.tcx", "fit_long_day_gaps.fit", "block_2013_06/2013-06-16-124414.TCX.gz",
    ],
)  # fmt: skip
def test_distances_are_those_of_the_devices(shared: Path, name: str) -> None:
    """On real recordings the distance agrees with the device's own within 1.5 %, and positions and heart are kept."""
    recording, track = _shared(shared, name)
    own = recording.distance_m[np.isfinite(recording.distance_m)][-1]
    assert _distance(track) == pytest.approx(own, rel=0.015)
    assert track.kept > 0.99
    assert track.heart_kept > 0.99 or recording.with_heart == 0


def test_one_session_in_several_formats_gives_one_track(shared: Path) -> None:
    """FIT, GPX and TCX of one session agree within 1 % in distance (2 % where fixes are rare) and a beat in heart."""
    for names in (("x1_ride_hr.fit", "x1_ride_hr.gpx", "x1_ride_hr.tcx"), ("x2_run_hr.fit", "x2_run_hr.gpx")):
        tracks = [_shared(shared, name)[1] for name in names]
        distances = [_distance(track) for track in tracks]
        assert max(distances) < min(distances) * (1.01 if names[0].startswith("x1") else 1.02)
        hearts = [float(np.nanmean(track.heart_bpm)) for track in tracks]
        assert max(hearts) - min(hearts) < 1


def test_places_alone_give_the_speed_that_the_device_says(shared: Path) -> None:
    """Without a ride's own speed, speeds from places lie within 0.35 m/s (root mean square) of the device's."""
    recording = read_path(shared / "recordings" / "x1_ride_hr.fit")[0]
    blind = track_of(replace(recording, speed_ms=np.full(len(recording), np.nan)))
    off = blind.speed_ms - np.interp(blind.time_s, recording.time_s, recording.speed_ms)
    assert np.sqrt(np.nanmean(off[blind.speed_ms > 1] ** 2)) < 0.35


def test_heights_in_the_tile_are_over_the_ellipsoid(shared: Path) -> None:
    """The logger's file reads a median 36.6 m above the tile: it is said, and what is left is within a metre."""
    recording = read_path(shared / "recordings" / "gpx_in_srtm_tile_N57E011.gpx")[0]
    tile = read_tile("N57E011.hgt.gz", (shared / "elevation" / "N57E011.hgt.gz").read_bytes())
    ground = tile.at(recording.latitude, recording.longitude)
    assert float(np.nanmedian(recording.height_m - ground)) == pytest.approx(36.6, abs=0.1)
    track = track_of(recording, tile=tile)
    said = [message for message in track.messages if message.code == "ellipsoid"]
    assert len(said) == 1
    assert "36." in said[0].text
    mended = track.height_m - tile.at(*from_plane(track.plane or Plane(0, 0), track.east_m, track.north_m))
    assert abs(float(np.nanmedian(mended))) < 1


def test_a_clock_that_overflowed_is_refused(shared: Path) -> None:
    """The file of 1901, all within microseconds, makes no track, and the refusal names it."""
    recording = read_path(shared / "recordings" / "gpx_broken_timestamps_1901.gpx")[0]
    with pytest.raises(TooLittleLeftError, match="1901"):
        track_of(recording)
