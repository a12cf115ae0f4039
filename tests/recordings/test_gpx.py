"""GPX 1.0 and 1.1, held to gpxpy's reading of the same bytes and to values worked by hand."""

from datetime import UTC, datetime

import gpxpy
import numpy as np
import pytest

from upsides.errors import EntitiesRefusedError
from upsides.recordings.formats.gpx import read_gpx
from upsides.recordings.recording import Recording

POINT = '<trkpt lat="{lat}" lon="{lon}"><ele>{ele}</ele><time>{time}</time>{more}</trkpt>'


def point(lat: object = 51.5, lon: object = -1.25, time: str = "2024-05-01T06:00:00Z", more: str = "") -> str:
    return POINT.format(lat=lat, lon=lon, ele=80.5, time=time, more=more)


def document(*tracks: str, root: str = 'version="1.1" xmlns="http://www.topografix.com/GPX/1/1"') -> bytes:
    return f'<?xml version="1.0" encoding="UTF-8"?>\n<gpx {root}>{"".join(tracks)}</gpx>\n'.encode()


def track(*points: str, kind: str = "") -> str:
    return f"<trk>{kind and f'<type>{kind}</type>'}<trkseg>{''.join(points)}</trkseg></trk>"


def read(data: bytes) -> Recording:
    (recording,) = read_gpx(data, "a.gpx")
    return recording


def codes(recording: Recording) -> set[str]:
    return {message.code for message in recording.messages}


def test_a_small_track_reads_as_gpxpy_reads_it() -> None:
    """Positions, heights, times with fractions and offsets, and segments are those that gpxpy gives."""
    data = document(
        track(point(51.5, -1.25, "2024-05-01T06:00:00.250Z"), point(51.5001, -1.2501, "2024-05-01T07:00:01+01:00")),
        track(point(51.5002, -1.2502, "2024-05-01T06:00:02Z")),
    )
    recording = read(data)
    points = [one[0] for one in gpxpy.parse(data.decode()).walk()]
    assert recording.latitude.tolist() == [one.latitude for one in points]
    assert recording.longitude.tolist() == [one.longitude for one in points]
    assert recording.height_m.tolist() == [one.elevation for one in points]
    assert recording.time_s.tolist() == [one.time.timestamp() for one in points]
    assert recording.segment.tolist() == [0, 0, 1]
    assert recording.messages == ()


def test_version_1_0_gives_speed_and_accuracy() -> None:
    """Speed of GPX 1.0 is taken as it is, and a horizontal dilution of 1.5 stands for 6 m, by the factor stated."""
    more = "<course>90</course><speed>12.5</speed><hdop>1.5</hdop>"
    recording = read(document(track(point(more=more)), root='version="1.0" xmlns="http://www.topografix.com/GPX/1/0"'))
    assert (recording.speed_ms[0], recording.accuracy_m[0]) == (12.5, 6.0)


@pytest.mark.parametrize(
    "more",
    [
        '<extensions><a:TrackPointExtension xmlns:a="urn:a"><a:hr>171</a:hr></a:TrackPointExtension></extensions>',
        '<extensions><heartrate xmlns="urn:b">171</heartrate></extensions>',
        "<extensions><nowhere:hr>171</nowhere:hr></extensions>",
        '<extensions><c:HeartRateBpm xmlns:c="urn:c"><c:Value>171</c:Value></c:HeartRateBpm></extensions>',
        '<c:Heart_Rate xmlns:c="urn:c"> 171 </c:Heart_Rate>',
    ],
)
def test_heart_is_found_by_its_name(more: str) -> None:
    """A heart rate is read from an extension whatever its namespace, its prefix, or whether that is declared."""
    recording = read(document(track(point(more=more))))
    assert recording.heart_bpm.tolist() == [171.0]
    assert ("undeclared_prefix" in codes(recording)) == ("nowhere" in more)


def test_entities_are_refused() -> None:
    """A document in which one entity stands for ten others, six deep, is refused in words before anything unfolds."""
    lines = ['<!ENTITY a0 "ha">', *(f'<!ENTITY a{i} "{f"&a{i - 1};" * 10}">' for i in range(1, 7))]
    data = f"<?xml version='1.0'?><!DOCTYPE gpx [{''.join(lines)}]><gpx><trk><name>&a6;</name></trk></gpx>"
    with pytest.raises(EntitiesRefusedError, match=r"bomb\.gpx: it declares entities"):
        read_gpx(data.encode(), "bomb.gpx")
    with pytest.raises(EntitiesRefusedError):
        read_gpx(data.encode("utf-16"), "bomb.gpx")


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32"])
def test_marks_and_wide_encodings(encoding: str) -> None:
    """The same document reads the same in every Unicode encoding, with and without a byte-order mark."""
    recording = read(document(track(point(), kind="séance")).decode().encode(encoding))
    assert (recording.latitude.tolist(), recording.sport) == ([51.5], "séance")


def test_an_encoding_that_is_declared_is_used_and_a_false_one_is_told() -> None:
    """ISO 8859-1 that is declared reads silently; that calls itself UTF-8 reads too, with a message."""
    text = document(track(point(), kind="séance")).decode()
    declared = read(text.replace("UTF-8", "ISO-8859-1").encode("latin-1"))
    false = read(text.encode("latin-1"))
    assert (declared.sport, false.sport) == ("séance", "séance")
    assert (codes(declared), codes(false)) == (set(), {"encoding"})


@pytest.mark.parametrize("cut", range(1, 90, 7))
def test_a_file_that_breaks_off_keeps_its_whole_fixes(cut: int) -> None:
    """Cut anywhere within its third point, a file gives the first two, and says how many bytes it left out."""
    data = document(track(point(), point(51.6), point(51.7, more="<hdop>1</hdop>" * 5)))
    start = data.rindex(b"<trkpt")
    recording = read(data[: start + cut])
    assert recording.latitude.tolist() == [51.5, 51.6]
    (message,) = [message for message in recording.messages if message.code == "cut_off"]
    assert message.count == len(data[start : start + cut].strip())


def test_what_is_broken_in_the_middle_loses_only_itself() -> None:
    """Blank bytes are left out, stray marks recovered, points behind are read, and a message names the line."""
    data = document(track(point(), "\n<ele>\x00\x00&<<", point(51.6)))
    recording = read(data)
    assert recording.latitude.tolist() == [51.5, 51.6]
    assert {"blank_bytes", "not_well_formed"} <= codes(recording)
    assert [message.values["line"] for message in recording.messages if message.code == "not_well_formed"] == [3]


def test_documents_one_behind_the_other() -> None:
    """Of two documents that were put into one file both are read, their segments apart, with a message."""
    recording = read(document(track(point())) + document(track(point(51.6), point(51.7))))
    assert recording.latitude.tolist() == [51.5, 51.6, 51.7]
    assert recording.segment.tolist() == [0, 1, 1]
    assert codes(recording) == {"not_well_formed"}


@pytest.mark.parametrize("hole", range(60, 700, 80))
def test_a_hole_loses_only_the_fixes_that_it_touches(hole: int) -> None:
    """Fifty blank bytes anywhere among twenty fixes lose one or two of them, every other is as it was, none is new."""
    data = document(track(*(point(51.5 + i / 1000, time=f"2024-05-01T06:00:{i:02d}Z") for i in range(20))))
    start = data.index(b"<trkpt") + hole
    recording = read(data[:start] + bytes(50) + data[start + 50 :])
    fixes = {(north, time) for north, time in zip(recording.latitude, recording.time_s, strict=True)}
    whole = read(data)
    assert fixes <= set(zip(whole.latitude, whole.time_s, strict=True))
    lost = [message.count for message in recording.messages if message.code == "fixes_lost"]
    assert 18 <= len(fixes) <= 19
    assert lost in ([1], [])


def test_a_document_of_great_depth_is_not_followed() -> None:
    """A hundred thousand elements within each other end the reading with a message, not with a full stack."""
    recording = read(document(track(point()), "<a>" * 100_000))
    assert len(recording) == 1


def test_nothing_and_nonsense() -> None:
    """Positions at 0,0, off the earth, halved or no numbers are none, their fixes stay, and each kind is counted."""
    odd = [(0, 0), (91, 10), (10, 181), ("nan", 10), ("north", "east"), ("51,5", "-1,25")]
    recording = read(document(track(*(point(lat, lon) for lat, lon in odd))))
    assert np.isfinite(recording.latitude).tolist() == [False] * 5 + [True]
    assert (recording.latitude[5], recording.longitude[5], recording.with_position) == (51.5, -1.25, 1)
    counts = {message.code: message.count for message in recording.messages}
    assert counts == {"no_fix": 1, "off_the_earth": 2, "half_position": 1}


def test_hearts_of_nothing() -> None:
    """A heart rate of 0 or 255 stands for none and is counted; 254 is kept as written."""
    points = [point(more=f"<extensions><hr>{value}</hr></extensions>") for value in (0, 255, 254, 90)]
    recording = read(document(track(*points)))
    assert recording.heart_bpm[2:].tolist() == [254.0, 90.0]
    assert recording.with_heart == 2
    assert [(message.code, message.count) for message in recording.messages] == [("no_heart", 2)]


def test_times_of_every_kind() -> None:
    """A time without a zone is UTC; 1901 is kept as written; what is none is NaN; of each it is said how many."""
    times = ["2024-05-01T06:00:00", "1901-12-13T20:45:52Z", "yesterday", "", "2024-05-01T06:00:00-05:00"]
    recording = read(document(track(*(point(time=time) for time in times))))
    assert recording.time_s[0] == datetime(2024, 5, 1, 6, tzinfo=UTC).timestamp()
    assert recording.time_s[1] == datetime(1901, 12, 13, 20, 45, 52, tzinfo=UTC).timestamp()
    assert recording.time_s[4] == datetime(2024, 5, 1, 11, tzinfo=UTC).timestamp()
    assert np.isnan(recording.time_s[2:4]).all()
    counts = {message.code: message.count for message in recording.messages}
    assert counts == {"zoneless": 1, "unreadable_times": 1, "odd_year": 1, "no_time": 2}


def test_the_order_of_the_file_is_kept() -> None:
    """Repeated times, steps back and the date line change nothing: fixes stand as they are written."""
    times = ["2024-05-01T06:00:01Z", "2024-05-01T06:00:01Z", "2024-05-01T06:00:00Z"]
    recording = read(
        document(track(*(point(0.5, lon, time) for lon, time in zip((179.9999, -179.9999, 180), times, strict=True))))
    )
    assert np.diff(recording.time_s).tolist() == [0.0, -1.0]
    assert recording.longitude.tolist() == [179.9999, -179.9999, 180.0]


def minutes(start: int, count: int, lat: float) -> list[str]:
    return [point(lat + i / 1e5, time=f"2024-05-01T06:{start + i:02d}:00Z") for i in range(count)]


def test_two_devices_in_one_file_are_two_recordings() -> None:
    """Tracks of the same minutes and other places are recordings of their own; tracks one after the other are one."""
    together = read_gpx(document(track(*minutes(0, 20, 51.5)), track(*minutes(1, 20, 51.6))), "a.gpx")
    after = read_gpx(document(track(*minutes(0, 20, 51.5)), track(*minutes(20, 20, 51.6))), "a.gpx")
    assert [len(one) for one in together] == [20, 20]
    assert [len(one) for one in after] == [40]
    assert "tracks_together" in codes(together[0])


def test_a_track_that_repeats_another_is_no_second_device() -> None:
    """A copy of a track within the file stays in its recording, and the fixes that stand twice are counted."""
    recording = read(document(track(*minutes(0, 20, 51.5)), track(*minutes(0, 30, 51.5))))
    assert len(recording) == 50
    assert [message.count for message in recording.messages if message.code == "repeated"] == [20]


def test_routes_and_waypoints() -> None:
    """Waypoints and a route without times give no fix and are told; a route with times, alone, is read."""
    waypoint = '<wpt lat="51" lon="1"><time>2024-05-01T06:00:00Z</time></wpt>'
    bare = '<rte><rtept lat="51" lon="1"/><rtept lat="52" lon="1"/></rte>'
    timed = '<rte><rtept lat="51" lon="1"><time>2024-05-01T06:00:00Z</time></rtept></rte>'
    nothing = read(document(waypoint, bare))
    assert (len(nothing), codes(nothing)) == (0, {"route", "no_fixes", "only_places"})
    assert read(document(timed)).latitude.tolist() == [51.0]
    both = read(document(timed, track(point(), point())))
    assert (both.latitude.tolist(), codes(both)) == ([51.5, 51.5], {"route"})


def test_the_geoid_is_told() -> None:
    """A file that gives the geoid's height has it told, and its heights stay as written."""
    recording = read(document(track(point(more="<geoidheight>46.9</geoidheight>"))))
    assert recording.height_m.tolist() == [80.5]
    assert ["46.9 m" in message.text for message in recording.messages] == [True]


def test_an_empty_document() -> None:
    """A document without any track is a recording of no fixes that says so."""
    for data in (document(), b"<gpx", b"<gpx/>"):
        recording = read(data)
        assert (len(recording), "no_fixes" in codes(recording)) == (0, True)
