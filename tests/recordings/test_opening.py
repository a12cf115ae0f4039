"""The door: what a file is, is told by what is in it, and nothing that is packed fills the memory."""

import gzip
import io
import os
import random
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from upsides.errors import (
    EntitiesRefusedError,
    NoShapeFitsError,
    PackedError,
    RecordingEmptyError,
    RecordingRefusedError,
    RecordingTooLargeError,
    RecordingUnknownError,
    UpsidesError,
)
from upsides.recordings.opening import open_bytes, read_all, read_bytes, read_path, recognised
from upsides.recordings.unpacking import Limits

POINT = '<trkpt lat="51.5" lon="-1.25"><time>2024-05-01T06:00:{:02d}Z</time></trkpt>'
GPX = f"<gpx><trk><trkseg>{''.join(POINT.format(second) for second in range(60))}</trkseg></trk></gpx>".encode()
TRACKPOINT = "<Trackpoint><Time>2024-05-01T06:00:00Z</Time></Trackpoint>"
TCX = f"<TrainingCenterDatabase><Activity><Lap>{TRACKPOINT}</Lap></Activity></TrainingCenterDatabase>".encode()
NMEA = b"$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A\r\n"
CSV = b"time,latitude,longitude\n2024-05-01T06:00:00Z,51.5,-1.25\n"
BOMB = b'<!DOCTYPE gpx [<!ENTITY a "aaaa">]><gpx>&a;</gpx>'


def zipped(**members: bytes) -> bytes:
    """Return a zip of members by their names, in which _ stands for a point."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members.items():
            archive.writestr(zipfile.ZipInfo(name.replace("_", ".")), data, zipfile.ZIP_DEFLATED)
    return packed.getvalue()


def refused(data: bytes, **given: Limits) -> UpsidesError:
    with pytest.raises(UpsidesError) as caught:
        read_bytes(data, "a.fit", **given)
    assert str(caught.value).startswith("a.fit")
    return caught.value


@pytest.mark.parametrize(("data", "is_"), [(GPX, "gpx"), (TCX, "tcx"), (NMEA, "nmea"), (CSV, "csv")])
@pytest.mark.parametrize("name", ["a.gpx", "a.fit", "a.tcx.gz", "a"])
def test_the_name_of_a_file_says_nothing(data: bytes, is_: str, name: str) -> None:
    """Whatever a file is called, packed or not, it is read as what it is."""
    for wrapped in (data, gzip.compress(data), zipped(x_y=data), zipped(x_gz=gzip.compress(data))):
        assert [one.format for one in read_bytes(wrapped, name)] == [is_]


def test_what_stands_before_the_beginning() -> None:
    """A mark, blank lines, a comment, an instruction or a logger's own words before it hide no format."""
    for start in (b"\xef\xbb\xbf", b"\r\n  ", b"<!-- by hand -->", b"<?xml version='1.0'?>\n<?made by=hand?>"):
        assert recognised(start + GPX, "a") == "gpx"
    assert recognised(b"Logger 7\r\n00042 " + NMEA, "a") == "nmea"


@pytest.mark.parametrize(
    ("data", "kind", "says"),
    [
        (b"", RecordingEmptyError, "it is empty"),
        (gzip.compress(b"", mtime=0), RecordingEmptyError, "it is empty"),
        (b"\x00" * 4096, RecordingUnknownError, "nothing but blanks"),
        (b"\xff" * 4096, RecordingUnknownError, "nothing but blanks"),
        (b"<!DOCTYPE html><html><body>Sign in</body></html>", RecordingUnknownError, "a web page"),
        (b"<kml><Placemark/></kml>", RecordingUnknownError, "another kind (kml)"),
        (b"< ", RecordingUnknownError, "says nothing"),
        (b"\x89PNG\r\n\x1a\n" + bytes(range(256)), RecordingUnknownError, "not known here"),
        (BOMB, EntitiesRefusedError, "<!ENTITY"),
        (b"foo,bar\n1,2\n", NoShapeFitsError, "foo, bar"),
        (b"Dear trainer, it rained.\n", RecordingUnknownError, "no table of fixes"),
        (b"PK\x03\x04 and no more", PackedError, "cannot be opened"),
        (zipped(), PackedError, "no file in the archive"),
        (b"\x1f\x8b\x08", PackedError, "nothing in it can be unpacked"),
    ],
)
def test_what_is_refused(data: bytes, kind: type[UpsidesError], says: str) -> None:
    """What holds no recording is refused by its own error, which names the file, the reason and a remedy."""
    error = refused(data)
    assert isinstance(error, kind)
    assert says in str(error)
    assert "; " in str(error)


def test_a_gzip_bomb() -> None:
    """Ten kilobytes that unfold to ten million of one letter are refused, and so is a file above the limit."""
    assert isinstance(refused(gzip.compress(b"0" * 10_000_000)), RecordingTooLargeError)
    noise = os.urandom(3 << 20)
    for packed in (gzip.compress(noise), zipped(a_csv=noise), noise):
        assert isinstance(refused(packed, limits=Limits(member=2 << 20)), RecordingTooLargeError)


def test_a_zip_bomb_in_many_members() -> None:
    """Members that are small each and large together end the reading where their sum passes the limit."""
    noise = [os.urandom(1 << 20) for _ in range(4)]
    packed = zipped(first_gpx=GPX, **{f"noise{i}_bin": noise[i] for i in range(4)}, last_gpx=GPX)
    opened = list(open_bytes(packed, "a.zip", limits=Limits(total=2 << 20)))
    assert [len(one.recordings) for one in opened] == [1, 0, 0]
    assert isinstance(opened[-1].error, RecordingTooLargeError)


def test_an_archive_of_too_many_members() -> None:
    """An archive of more files than the limit is refused as a whole."""
    packed = zipped(**{f"{i}_gpx": GPX for i in range(11)})
    assert isinstance(refused(packed, limits=Limits(members=10)), RecordingTooLargeError)


def test_packing_within_packing() -> None:
    """What is packed in an archive is unpacked once more, and what is packed in that is refused."""
    once = zipped(a_gz=gzip.compress(GPX))
    assert len(read_bytes(once, "a.zip")[0]) == 60
    assert isinstance(refused(zipped(b_zip=once)), PackedError)
    assert isinstance(refused(gzip.compress(gzip.compress(gzip.compress(GPX)))), PackedError)


def test_a_gzip_that_breaks_off_or_is_damaged() -> None:
    """The fixes before the cut are read; both losses, of the packing and of the text, are told."""
    packed = gzip.compress(CSV + noisy_rows(4000))
    (whole,) = read_bytes(packed, "a.csv.gz")
    (cut,) = read_bytes(packed[: len(packed) // 2], "a.csv.gz")
    assert 500 < len(cut) < len(whole)
    assert cut.latitude.tolist() == whole.latitude[: len(cut)].tolist()
    assert cut.messages[0].code == "packed_cut_off"
    damaged = bytearray(packed)
    damaged[-5] ^= 0xFF  # in the check sum of the whole
    (read,) = read_bytes(bytes(damaged), "a.csv.gz")
    assert [message.code for message in read.messages] == ["packed_damaged"]


def noisy_rows(count: int) -> bytes:
    """Return rows that do not pack well."""
    rng = random.Random(3)  # noqa: S311 -- nothing secret
    rows = (
        f"2024-05-01T06:{i // 60 % 60:02d}:{i % 60:02d}Z,{rng.uniform(50, 52)},{rng.uniform(-1, 1)}\n"
        for i in range(count)
    )
    return "".join(rows).encode()


def test_several_parts_in_one_gzip() -> None:
    """Two gzips put one behind the other, as the format allows, are read as one text."""
    row = b"2024-05-01T06:00:01Z,51.6,-1.25\n"
    assert len(read_bytes(gzip.compress(CSV) + gzip.compress(row), "a.csv.gz")[0]) == 2


def test_an_archive_whose_files_are_not_all_good() -> None:
    """Good files of an archive are read, each bad one is told on the first of them, by its name within the archive."""
    packed = zipped(bad_gpx=BOMB, good_gpx=GPX, empty_csv=b"", good_tcx=TCX)
    first, second = read_bytes(packed, "a.zip")
    assert (first.file, second.file) == ("a.zip/good.gpx", "a.zip/good.tcx")
    told = [message.text for message in first.messages if message.code == "member_refused"]
    assert len(told) == 2
    assert "a.zip/bad.gpx" in told[0]
    assert "a.zip/empty.csv" in told[1]
    with pytest.raises(PackedError, match="none of the 2 files"):
        read_bytes(zipped(bad_gpx=BOMB, empty_csv=b""), "a.zip")


def test_a_locked_or_damaged_member() -> None:
    """A member under a password is refused with its remedy; one whose check sum is wrong is read as far as it goes."""
    packed = bytearray(zipped(a_gpx=GPX))
    locked = bytearray(packed)
    for mark, place in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        locked[locked.index(mark) + place] |= 1
    assert "password" in str(refused(bytes(locked)))
    packed[packed.index(b"PK\x01\x02") + 16] ^= 0xFF
    (read,) = read_bytes(bytes(packed), "a.zip")
    assert (len(read), read.messages[0].code) == (60, "packed_changed")


def test_what_a_system_adds_to_an_archive() -> None:
    """Folders, hidden files and a system's own notes in an archive are no recordings and no faults."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        for name, data in (("m/", b""), ("__MACOSX/m/._a.gpx", b"\x00"), (".DS_Store", b"\x01"), ("m/a.gpx", GPX)):
            archive.writestr(name, data)
    assert [(one.file, one.messages) for one in read_bytes(packed.getvalue(), "a.zip")] == [("a.zip/m/a.gpx", ())]


def test_many_files_of_which_some_are_broken(tmp_path: Path) -> None:
    """Of many files each gives its recordings or its error, in their order, and none stops the others."""
    for name, data in (("a.gpx", GPX), ("b.gpx", BOMB), ("c.zip", zipped(x_gpx=GPX, y_gpx=b"")), ("e.csv", CSV)):
        (tmp_path / name).write_bytes(data)
    opened = list(read_all(tmp_path / name for name in ("a.gpx", "b.gpx", "c.zip", "d.gpx", "e.csv")))
    assert [Path(one.file).name for one in opened] == ["a.gpx", "b.gpx", "x.gpx", "y.gpx", "d.gpx", "e.csv"]
    assert [len(one.recordings) for one in opened] == [1, 0, 1, 0, 0, 1]
    assert [type(one.error) for one in opened if one.error] == [
        EntitiesRefusedError,
        RecordingEmptyError,
        RecordingRefusedError,
    ]


def test_a_file_that_cannot_be_opened(tmp_path: Path) -> None:
    """A file that is not there, and a folder, are refused by name."""
    for path in (tmp_path / "none.gpx", tmp_path):
        with pytest.raises(RecordingRefusedError, match=path.name):
            read_path(path)


def cut(data: bytes, rng: random.Random) -> bytes:
    return data[: rng.randrange(len(data))]


def torn(data: bytes, rng: random.Random) -> bytes:
    start = rng.randrange(len(data))
    return data[:start] + data[start + rng.randrange(1, 80) :]


def flipped(data: bytes, rng: random.Random) -> bytes:
    broken = bytearray(data)
    for _ in range(rng.randrange(1, 9)):
        broken[rng.randrange(len(data))] = rng.randrange(256)
    return bytes(broken)


def doubled(data: bytes, rng: random.Random) -> bytes:
    start = rng.randrange(len(data))
    return data[:start] + data[rng.randrange(len(data)) :]


@pytest.mark.parametrize("breaks", [cut, torn, flipped, doubled])
@pytest.mark.parametrize(
    "data", [GPX, TCX, NMEA * 5, CSV * 5, zipped(a_gpx=GPX, b_csv=CSV), gzip.compress(NMEA * 5, mtime=0)]
)
def test_whatever_is_broken_is_read_or_refused(data: bytes, breaks: Callable[[bytes, random.Random], bytes]) -> None:
    """Cut, torn, flipped or doubled anywhere, a file gives recordings or an error in words, never anything else."""
    rng = random.Random(11)  # noqa: S311 -- nothing secret
    for _ in range(15):
        opened = list(open_bytes(breaks(data, rng), "a.gpx"))
        assert opened
        assert all((one.error is None) == bool(one.recordings) for one in opened)
        assert all(str(one.error).startswith("a.gpx") for one in opened if one.error)
        assert all(read.latitude.shape == read.time_s.shape for one in opened for read in one.recordings)
