"""FIT, read: against the format's public profile as its own library knows it, and files put together by hand."""

import csv
import os
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from garmin_fit_sdk import Decoder, Stream

from fit_bytes import CLOCK, EPOCH_S, TIMED, checked, definition, record, timed, whole
from upsides.errors import RecordingRefusedError, RecordingTooLargeError
from upsides.recordings.formats.fit import read_fit
from upsides.recordings.formats.fit.crc import crc
from upsides.recordings.recording import Recording

BROKEN = {"fit_truncated_eof.fit", "fit_trailing_eof.fit", "fit_undefined_local_message.fit"}
SEMICIRCLE = 180 / 2**31


def oracle(data: bytes) -> dict[str, list[dict[str, Any]]]:
    """What the format's own library (garmin-fit-sdk 21) reads, times as seconds of the format.

    It does not know short times, and leaves out the records that have them.
    """
    told, errors = Decoder(Stream.from_byte_array(bytearray(data))).read(
        convert_datetimes_to_dates=False, convert_types_to_strings=False, enable_crc_check=False
    )
    assert all("Compressed timestamp" in str(error) for error in errors)
    return dict(told)


def column(records: list[dict[str, Any]], *names: str) -> np.ndarray:
    """The first of several fields that a record has; the library gives a list where an array was written."""
    found = [next((r[name] for name in names if r.get(name) is not None), np.nan) for r in records]
    return np.array([value[0] if isinstance(value, list) else value for value in found], dtype=np.float64)


def same_records(read: Recording, records: list[dict[str, Any]]) -> None:
    north, east = column(records, "position_lat"), column(records, "position_long")
    half = np.isnan(north) | np.isnan(east)
    heart = column(records, "heart_rate")
    wanted = {
        "time_s": column(records, "timestamp") + EPOCH_S,
        "latitude": np.where(half, np.nan, north * SEMICIRCLE),
        "longitude": np.where(half, np.nan, east * SEMICIRCLE),
        "height_m": column(records, "enhanced_altitude", "altitude"),
        "speed_ms": column(records, "enhanced_speed", "speed"),
        "distance_m": column(records, "distance"),
        "heart_bpm": np.where(heart == 0, np.nan, heart),
        "accuracy_m": column(records, "gps_accuracy"),
    }
    for name, values in wanted.items():
        np.testing.assert_allclose(getattr(read, name), values, rtol=0, atol=1e-9, err_msg=name)


def messages(read: Recording) -> dict[str, int]:
    return {message.code: message.count for message in read.messages}


@pytest.fixture(scope="module")
def shared() -> Path:
    folder = Path(os.environ.get("UPSIDES_SHARED") or Path(__file__).parents[3] / "shared" / "data") / "recordings"
    if not folder.is_dir():
        pytest.skip("the shared recordings are not here: set UPSIDES_SHARED to the folder of shared data")
    return folder


def test_every_field_is_what_the_formats_own_library_reads(shared: Path) -> None:
    """Every field that is used, of every record of every shared file that the library reads, is equal."""
    compared = 0
    for place in sorted(shared.glob("*.fit")):
        records = oracle(place.read_bytes()).get("record_mesgs", []) if place.name not in BROKEN else []
        if records:
            (read,) = read_fit(place.read_bytes(), place.name)
            same_records(read, records)
            compared += len(records)
    assert compared > 50_000


def test_counts_are_those_of_the_index(shared: Path) -> None:
    """Fixes, positions, heart rates, heights, repeated times and the longest gap are as many as the index says."""
    index = csv.DictReader((shared / "INDEX.csv").read_text().splitlines())
    rows = [row for row in index if row["file"].endswith(".fit") and row["file"] not in BROKEN]
    assert len(rows) == 14
    for row in rows:
        (read,) = read_fit((shared / row["file"]).read_bytes(), row["file"])
        counts = [len(read), read.with_position, read.with_heart, int(np.isfinite(read.height_m).sum())]
        named = ["points", "points_with_position", "points_with_hr", "points_with_elevation"]
        assert counts == [int(row[name]) for name in named], row["file"]
        if row["longest_gap_s"]:
            steps = np.diff(read.time_s)
            assert np.count_nonzero(steps == 0) == int(row["duplicate_times"]), row["file"]
            assert steps.max() == float(row["longest_gap_s"]), row["file"]


def test_short_times_span_the_session(shared: Path) -> None:
    """Records with five bits of time each span what the session says that it took, and go as far as it says."""
    data = (shared / "fit_no_timestamps.fit").read_bytes()
    (read,) = read_fit(data, "a.fit")
    (session,) = oracle(data)["session_mesgs"]
    assert abs(np.ptp(read.time_s) - session["total_elapsed_time"]) < 5
    assert abs(read.distance_m[-1] - session["total_distance"]) < 1 / 16
    assert read.time_s[0] - EPOCH_S - session["start_time"] < 6
    assert messages(read)["clock_unset"] == 755


def test_cut_off_files_keep_what_is_there(shared: Path) -> None:
    """The shared file that is cut off keeps its 14 records, and says that 3 bytes are missing."""
    (read,) = read_fit((shared / "fit_truncated_eof.fit").read_bytes(), "a.fit")
    assert len(read) == 14
    assert messages(read)["ends_early"] == 3


def test_data_before_its_definition_lose_little(shared: Path) -> None:
    """Where 19 bytes of a file are gone, under 1 % is lost, times go on, and no position leaves its neighbours."""
    data = (shared / "fit_undefined_local_message.fit").read_bytes()
    (read,) = read_fit(data, "a.fit")
    assert 0 < messages(read)["undefined"] < 0.01 * len(data)
    assert np.all((np.diff(read.time_s) >= 0) & (np.diff(read.time_s) <= 5))
    placed = np.isfinite(read.latitude)
    assert np.abs(np.diff(read.latitude[placed])).max() < 5e-4
    assert placed.sum() > 2600


@pytest.mark.parametrize("size", [0, 1, 2, 3, 12, 255, 256, 1001])
def test_the_check_sum_is_the_protocols(size: int) -> None:
    """Words checked side by side give the sum that goes bit by bit."""
    data = np.random.default_rng(size).integers(0, 256, size, dtype=np.uint8).tobytes()
    assert crc(data) == checked(data)


@pytest.mark.parametrize("header", [12, 14])
@pytest.mark.parametrize("order", ["<", ">"])
def test_both_headers_and_both_orders_of_bytes(header: int, order: str) -> None:
    """A record reads the same whichever byte comes first, after either header."""
    fields = [(253, 4, 0x86), (0, 4, 0x85), (1, 4, 0x85), (2, 2, 0x84), (3, 1, 0x02), (6, 2, 0x84), (31, 1, 0x02)]
    body = definition(3, 20, fields, big=order == ">")
    body += record(3, order + "IiiHBHB", CLOCK, 2**29, -(2**30), 2656, 131, 16_500, 3)
    (read,) = read_fit(whole(body, header=header), "a.fit")
    told = [read.time_s, read.latitude, read.longitude, read.height_m, read.heart_bpm, read.speed_ms, read.accuracy_m]
    assert [float(values[0]) for values in told] == pytest.approx([CLOCK + EPOCH_S, 45, -90, 31.2, 131, 16.5, 3])
    assert read.messages == ()


def test_numbers_that_stand_for_nothing() -> None:
    """Of a record whose every number stands for nothing, nothing is told; a heart of 0 is none."""
    fields = [(253, 4, 0x86), (0, 4, 0x85), (1, 4, 0x85), (78, 4, 0x86), (3, 1, 0x02), (73, 4, 0x86), (5, 4, 0x86)]
    nothing = (0xFFFFFFFF, 0x7FFFFFFF, 0x7FFFFFFF, 0xFFFFFFFF, 255, 0xFFFFFFFF, 0xFFFFFFFF)
    body = (
        definition(0, 20, fields)
        + record(0, "<IiiIBII", *nothing)
        + record(0, "<IiiIBII", CLOCK, *nothing[1:4], 0, 0, 0)
    )
    (read,) = read_fit(whole(body), "a.fit")
    assert len(read) == 2
    assert np.isnan([read.time_s[0], read.speed_ms[0], read.distance_m[0], *read.heart_bpm, *read.height_m]).all()
    assert read.with_position == 0
    assert read.speed_ms[1] == 0.0


def test_short_times_go_on_from_the_last_whole_one() -> None:
    """Five bits of time count on from the last whole time, through the turn at 32; before one they tell nothing."""
    short = definition(1, 20, [(3, 1, 0x02)])

    def later(seconds: int) -> bytes:
        return bytes([0x80 | 1 << 5 | (CLOCK + seconds) % 32, 90])

    body = short + later(0) + TIMED + timed(0) + later(3) + later(31) + later(33) + later(33) + timed(100) + later(101)
    (read,) = read_fit(whole(body), "a.fit")
    assert np.isnan(read.time_s[0])
    assert list(read.time_s[1:] - EPOCH_S - CLOCK) == [0, 3, 31, 33, 33, 100, 101]


def test_parts_of_a_second() -> None:
    """A record's 128ths are added to its time; a developer's milliseconds go before them."""
    native = definition(0, 20, [(253, 4, 0x86), (48, 1, 0x02)])
    described = definition(1, 206, [(0, 1, 2), (1, 1, 2), (2, 1, 2), (3, 13, 7)])
    described += record(1, "<BBB13s", 0, 7, 0x84, b"Timestamp_MS")
    own = definition(2, 20, [(253, 4, 0x86), (48, 1, 0x02)], own=[(7, 2, 0)])
    body = native + record(0, "<IB", CLOCK, 32) + described + own + record(2, "<IBH", CLOCK, 25, 200)
    body += record(2, "<IBH", CLOCK, 64, 0xFFFF) + record(0, "<IB", CLOCK, 255)
    (read,) = read_fit(whole(body), "a.fit")
    assert list(read.time_s - EPOCH_S - CLOCK) == [0.25, pytest.approx(0.2, abs=1e-6), 0.5, 0.0]


def test_developers_fields_fill_what_is_lacking() -> None:
    """A developer's heart rate is known by the field that it stands for, his speed by its name and unit."""
    described = definition(1, 206, [(0, 1, 2), (1, 1, 2), (2, 1, 2), (3, 6, 7), (8, 5, 7), (14, 2, 0x84), (15, 1, 2)])
    described += record(1, "<BBB6s5sHB", 0, 1, 0x02, b"strap", b"bpm", 20, 3)
    described += record(1, "<BBB6s5sHB", 0, 2, 0x88, b"Speed", b"km/h", 0xFFFF, 255)
    described += record(1, "<BBB6s5sHB", 0, 3, 0x02, b"mood", b"", 0xFFFF, 255)
    own = definition(0, 20, [(253, 4, 0x86), (3, 1, 2)], own=[(1, 1, 0), (2, 4, 0), (3, 1, 0)])
    body = (
        described + own + record(0, "<IBBfB", CLOCK, 255, 120, 36.0, 9) + record(0, "<IBBfB", CLOCK, 80, 120, np.nan, 9)
    )
    (read,) = read_fit(whole(body), "a.fit")
    assert list(read.heart_bpm) == [120, 80]
    assert read.speed_ms[0] == pytest.approx(10.0)
    assert np.isnan(read.speed_ms[1])


def test_packed_speed_and_distance_add_up() -> None:
    """Twelve bits of distance that start again every 256 m add up; speed is in hundredths."""

    def packed(speed: int, sixteenths: int) -> bytes:
        low = sixteenths % 4096
        return bytes([0, speed & 0xFF, speed >> 8 | (low & 0x0F) << 4, low >> 4])

    body = definition(0, 20, [(8, 3, 0x0D)])
    body += packed(1650, 1600) + packed(1, 4000) + b"\0\xff\xff\xff" + packed(400, 4100) + packed(0, 8100)
    (read,) = read_fit(whole(body), "a.fit")
    np.testing.assert_allclose(read.speed_ms, [16.5, 0.01, np.nan, 4.0, 0.0])
    np.testing.assert_allclose(read.distance_m, [100.0, 250.0, np.nan, 256.25, 506.25])


def test_beats_that_a_strap_kept_fill_the_records() -> None:
    """Beats with times of 12 bits come to the records as the format's own library expands them, to a beat."""
    records = TIMED + b"".join(timed(s, 255) for s in range(8))
    anchor = definition(1, 132, [(253, 4, 0x86), (0, 2, 0x84), (9, 4, 0x86), (6, 1, 2)])
    anchor += record(1, "<IHIB", CLOCK, 16_384, 5_000, 60)
    ticks = [(5_000 + 1024 * k) % 4096 for k in range(1, 7)]
    pairs = [one | other << 12 for one, other in zip(ticks[::2], ticks[1::2], strict=True)]
    short = b"".join(pair.to_bytes(3, "little") for pair in pairs)
    beats = definition(2, 132, [(10, 9, 0x0D), (6, 6, 2)]) + bytes([2]) + short + bytes([61, 62, 63, 64, 65, 66])
    data = whole(records + anchor + beats)
    (read,) = read_fit(data, "a.fit")
    # The strap's beats are at 0.5, 1.5, ... 6.5 s.
    assert np.isnan(read.heart_bpm[0])
    assert list(read.heart_bpm[1:]) == [60, 61, 62, 63, 64, 65, 66]
    known = column(oracle(data)["record_mesgs"], "heart_rate")
    both = np.isfinite(known) & np.isfinite(read.heart_bpm)
    assert both.sum() >= 5
    assert np.abs(known - read.heart_bpm)[both].max() <= 1


def test_denser_places_are_the_fixes() -> None:
    """Where places come four times a second, they are the fixes, and a record's heart goes to the nearest."""
    body = TIMED + timed(0, 101) + timed(1, 102)
    body += definition(1, 160, [(253, 4, 0x86), (0, 2, 0x84), (1, 4, 0x85), (2, 4, 0x85), (3, 4, 0x86), (4, 4, 0x86)])
    for k in range(8):
        body += record(1, "<IHiiII", CLOCK + k // 4, k % 4 * 250, 2**29 + k, 2**28, 2656, 12_345)
    (read,) = read_fit(whole(body), "a.fit")
    np.testing.assert_allclose(read.time_s - EPOCH_S - CLOCK, np.arange(8) / 4)
    assert list(np.flatnonzero(np.isfinite(read.heart_bpm))) == [0, 4]
    assert (read.with_position, read.speed_ms[3], read.height_m[3]) == (8, 12.345, pytest.approx(31.2))


def test_counts_become_acceleration_by_their_calibration() -> None:
    """Counts are turned into g by the last calibration before them: moved, turned and scaled; without one, left out."""
    fields = [(253, 4, 0x86), (0, 2, 0x84), (1, 4, 0x84), (2, 4, 0x84), (3, 4, 0x84), (4, 4, 0x84)]
    counts = definition(0, 165, fields)
    sample = record(0, "<IH2H2H2H2H", CLOCK, 500, 0, 40, 1100, 1200, 2000, 2000, 900, 1000)
    turn = definition(1, 167, [(0, 1, 0), (1, 4, 0x86), (2, 4, 0x86), (3, 4, 0x86), (4, 12, 0x85), (5, 36, 0x85)])
    one = 65535
    turn += record(1, "<BIII3i9i", 0, 1, 500, 1000, 100, 0, -100, 0, one, 0, one, 0, 0, 0, 0, -one)
    other = record(1, "<BIII3i9i", 1, 9, 9, 9, 9, 9, 9, *[one] * 9)
    (read,) = read_fit(whole(counts + sample + turn + other + sample), "a.fit")
    assert read.motion is not None
    np.testing.assert_allclose(read.motion.time_s - EPOCH_S - CLOCK, [0.5, 0.54])
    # (1100 - 1000 - 100, 2000 - 1000, 900 - 1000 + 100) / 500, first two axes changed over, third turned round.
    np.testing.assert_allclose(read.motion.g, [[2.0, 0.0, 0.0], [2.0, 0.2, -0.2]], atol=1e-12)


def test_several_files_in_one_are_several_recordings() -> None:
    """Chained files are a recording each; one without records among them is passed over."""
    empty = whole(definition(0, 0, [(0, 1, 0)]) + b"\0\4")
    first, second = whole(TIMED + timed(0)), whole(TIMED + timed(9) + timed(10), header=12)
    read = read_fit(first + empty + second, "a.fit")
    assert [(one.file, len(one)) for one in read] == [("a.fit#1", 1), ("a.fit#2", 2)]
    assert [len(one) for one in read_fit(first[:-2] + second, "a.fit")] == [1, 2]
    cut = read_fit(first[:-8] + second, "a.fit")
    assert [len(one) for one in cut] == [2]
    assert "ends_early" not in messages(cut[0])


def test_device_sport_and_laps() -> None:
    """The device is named by its numbers or its product's name, the sport by the session, fixes by when laps begin."""
    body = definition(0, 0, [(1, 2, 0x84), (2, 2, 0x84), (3, 4, 0x8C)]) + record(0, "<HHI", 255, 0xFFFF, 0)
    body += definition(0, 23, [(0, 1, 2), (3, 4, 0x8C), (27, 6, 7)]) + record(0, "<BI6s", 1, 5, b"strap")
    body += record(0, "<BI6s", 0, 77, b"collar")
    body += definition(0, 18, [(5, 1, 0)]) + record(0, "<B", 27) + record(0, "<B", 27)
    body += definition(0, 19, [(2, 4, 0x86)]) + record(0, "<I", CLOCK + 2) + record(0, "<I", CLOCK)
    body += TIMED + b"".join(timed(s) for s in range(4))
    (read,) = read_fit(whole(body), "a.fit")
    assert (read.device.maker, read.device.product, read.device.serial) == ("255", "collar", "77")
    assert read.sport == "horseback_riding"
    assert list(read.segment) == [0, 0, 1, 1]


def test_a_wrong_and_a_missing_check_sum() -> None:
    """A changed byte and an absent check sum are said; everything is read."""
    good = whole(TIMED + timed(0, 90) + timed(1, 91))
    at = good.index(b"\x5a")
    (read,) = read_fit(good[:at] + b"\x5c" + good[at + 1 :], "a.fit")
    assert (list(read.heart_bpm), list(messages(read))) == ([92, 91], ["crc_wrong"])
    for gone in (1, 2):
        (read,) = read_fit(good[:-gone], "a.fit")
        assert (len(read), list(messages(read))) == (2, ["crc_missing"])


def test_every_cut_keeps_every_whole_record() -> None:
    """Wherever a file is cut, all records before are kept, and the bytes that are missing are counted."""
    start = len(whole(b"")) - 2 + len(TIMED)
    good = whole(TIMED + b"".join(timed(s) for s in range(5)))
    size = len(timed(0))
    for end in range(start, len(good) - 2):
        (read,) = read_fit(good[:end], "a.fit")
        assert len(read) == (end - start) // size
        assert messages(read)["ends_early"] == len(good) - end
        assert messages(read).get("message_cut_off", 0) == (end - start) % size


def test_a_length_that_was_never_written() -> None:
    """Where a device stopped before it wrote the length, everything to the end is read."""
    (read,) = read_fit(whole(TIMED + timed(0) + timed(1), promised=0), "a.fit")
    assert (len(read), list(messages(read))) == (2, ["unclosed"])


@pytest.mark.parametrize("lost", [*range(1, 10)])
def test_a_lost_byte_costs_at_most_three_records(lost: int) -> None:
    """Whichever byte of a record is gone, the others before and after are read as they were written, bar three."""
    records = [timed(s, 100 + s % 50, s * 100) for s in range(60)]
    broken = TIMED + b"".join(records[:30]) + records[30][:lost] + records[30][lost + 1 :] + b"".join(records[31:])
    (read,) = read_fit(whole(broken), "a.fit")
    seconds = (read.time_s - EPOCH_S - CLOCK).astype(int)
    kept = np.isin(np.arange(60), seconds)
    assert kept.sum() >= 57
    assert kept[:28].all()
    assert kept[33:].all()
    right = (read.heart_bpm == 100 + seconds % 50) & (read.distance_m == seconds)
    assert np.count_nonzero(~right) <= 1


def test_rubbish_between_records_is_passed_over() -> None:
    """Bytes that mean nothing are passed over, counted, and reading goes on behind them."""
    rubbish = np.random.default_rng(3).integers(0x10, 0x40, 5000, dtype=np.uint8).tobytes()
    body = TIMED + timed(0) + timed(1) + rubbish + timed(2) + timed(3) + timed(4)
    (read,) = read_fit(whole(body), "a.fit")
    assert list(read.time_s - EPOCH_S - CLOCK) == [0, 1, 2, 3, 4]
    assert messages(read)["undefined"] == 5000


def test_a_late_definition_opens_the_rest() -> None:
    """Data before any definition are lost; from their definition on everything is read."""
    body = timed(0) + timed(1) + TIMED + timed(2) + timed(3) + timed(4)
    (read,) = read_fit(whole(body), "a.fit")
    assert list(read.time_s - EPOCH_S - CLOCK) == [2, 3, 4]
    assert messages(read)["undefined"] == 2 * len(timed(0))


def test_a_header_that_promises_gigabytes() -> None:
    """A length of four thousand million bytes reads what is there."""
    (read,) = read_fit(whole(TIMED + timed(0), promised=0xFFFFFFF0), "a.fit")
    assert len(read) == 1
    assert messages(read)["ends_early"] > 4_000_000_000


def test_the_widest_definition() -> None:
    """A message of 255 fields of 255 bytes each is passed over byte for byte."""
    wide = definition(1, 20, [(n, 255, 0x0D) for n in range(255)])
    body = TIMED + timed(0) + wide + bytes([1]) + bytes(255 * 255) + timed(1)
    (read,) = read_fit(whole(body), "a.fit")
    assert len(read) == 3
    assert list(read.time_s[[0, 2]] - EPOCH_S - CLOCK) == [0, 1]


def test_fields_of_unknown_types_and_odd_sizes_are_passed_over() -> None:
    """A type that does not exist, and bytes that are no multiple of the type's, cost only that field."""
    body = definition(0, 20, [(253, 4, 0x86), (6, 3, 0x84), (5, 4, 0x1F), (3, 0, 0x02), (31, 1, 2)])
    body += record(0, "<I3s4sB", CLOCK, b"abc", b"abcd", 5)
    (read,) = read_fit(whole(body), "a.fit")
    assert np.isnan([read.speed_ms[0], read.distance_m[0], read.heart_bpm[0]]).all()
    assert (read.accuracy_m[0], read.messages) == (5.0, ())


def test_a_small_file_cannot_fill_the_memory() -> None:
    """Six million records of two bytes are refused, for they would take a hundred times the file."""
    with pytest.raises(RecordingTooLargeError, match="more than 5 million messages"):
        read_fit(whole(b"", promised=12_000_009)[:-2] + definition(0, 20, [(3, 1, 2)]) + b"\0\x5a" * 6_000_000, "a.fit")


@pytest.mark.parametrize("data", [b"", b".FIT", b"\x0e\x20\x34\x08", b"x" * 4000, b"PK\3\4" + bytes(60)])
def test_what_is_no_fit_is_refused(data: bytes) -> None:
    """Bytes without a header are refused in words that name the file."""
    with pytest.raises(RecordingRefusedError, match=r"morning\.fit: no FIT file begins in it"):
        read_fit(data, "morning.fit")


def test_a_file_without_records_is_a_recording_of_no_fixes() -> None:
    """A FIT file of settings is read, and says that it holds no fix."""
    (read,) = read_fit(whole(definition(0, 0, [(0, 1, 0), (1, 2, 0x84)]) + record(0, "<BH", 2, 1)), "a.fit")
    assert (len(read), read.device.maker, list(messages(read))) == (0, "1", ["no_fixes"])
