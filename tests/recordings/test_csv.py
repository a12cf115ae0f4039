"""Tables by shapes, held to values worked by hand and to Python's own calendar."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from upsides.errors import NoShapeFitsError, RecordingRefusedError, ShapeError
from upsides.recordings.formats.csv import propose, read_csv, read_shape, shipped_shapes
from upsides.recordings.recording import Recording

HEAD = "format = 1\n"
PLACE = '[columns]\nlatitude = "lat"\nlongitude = "lon"\n'


def read(text: str | bytes, shape: str = "") -> Recording:
    (recording,) = read_all(text, shape)
    return recording


def read_all(text: str | bytes, shape: str = "", name: str = "a.csv") -> list[Recording]:
    shapes = [read_shape(HEAD + shape, "mine")] if shape else []
    return read_csv(text if isinstance(text, bytes) else text.encode(), name, shapes)


def timed(rule: str, *times: str) -> Recording:
    """Read one column of times by a rule, beside a position that does not matter."""
    return read("when,lat,lon\n" + "".join(f"{time},51.5,-1.25\n" for time in times), f"[time]\n{rule}\n{PLACE}")


def codes(recording: Recording) -> dict[str, int]:
    return {message.code: message.count for message in recording.messages}


def test_the_plain_table_reads_by_itself() -> None:
    """The table of this program's own names is recognised; columns that it lacks are NaN."""
    recording = read("Time,Latitude,Longitude,Heart_bpm\n2024-05-01T06:00:00.25Z,51.5,-1.25,90\n")
    assert recording.time_s.tolist() == [datetime(2024, 5, 1, 6, tzinfo=UTC).timestamp() + 0.25]
    assert (recording.latitude[0], recording.longitude[0], recording.heart_bpm[0]) == (51.5, -1.25, 90.0)
    assert np.isnan(recording.speed_ms).all()


def test_semicircles_and_an_abbreviated_zone_read_by_themselves() -> None:
    """2^29 semicircles are 45 degrees, and 06:00 PDT is 13:00 UTC."""
    head = "timestamp,position_lat,position_long,heart_rate\n"
    recording = read(f"{head}Sun Sep 25 06:00:22 PDT 2011,536870912,-1073741824,161\n")
    assert (recording.latitude[0], recording.longitude[0]) == (45.0, -90.0)
    assert recording.time_s[0] == datetime(2011, 9, 25, 13, 0, 22, tzinfo=UTC).timestamp()


@pytest.mark.parametrize(
    ("field", "unit", "written", "is_"),
    [
        ("speed_ms", "km/h", "36", 10.0),
        ("speed_ms", "knots", "10", 5.144444444444445),  # 1852 m an hour, by definition
        ("speed_ms", "mph", "10", 4.4704),  # 1609.344 m a mile, by definition
        ("height_m", "ft", "1000", 304.8),
        ("distance_m", "furlongs", "5", 1005.84),
        ("accuracy_m", "hdop", "1.5", 6.0),
        ("heart_bpm", "per second", "1.5", 90.0),
        ("latitude", "degrees", "51°30'36\"S", -51.51),
        ("latitude", "degrees", "51 30.6 N", 51.51),
        ("latitude", "degrees_minutes", "-5130.6", -51.51),
        ("latitude", "degrees_minutes", "51 30.6", 51.51),
        ("latitude", "1e-7 degrees", "515100000", 51.51),
        ("latitude", "semicircles", "-2147483648", -180.0),
    ],
)
def test_units(field: str, unit: str, written: str, is_: float) -> None:
    """Each unit becomes the recording's own by its definition; an angle may have a sign, a side, or three parts."""
    shape = f'[time]\nfrom = "when"\n[columns]\n{field} = {{ from = "x", unit = "{unit}" }}\nlongitude = "y"\n'
    quoted = '"' + written.replace('"', '""') + '"'
    recording = read(f"when,x,y\n2024-05-01T06:00:00Z,{quoted},1\n", shape)
    value = getattr(recording, field)[0]
    if abs(is_) == 180.0:
        assert (np.isnan(value), "off_the_earth" in codes(recording)) == (True, True)
    else:
        assert value == pytest.approx(is_, rel=1e-12)


def test_sides_in_a_column_of_their_own() -> None:
    """4807.038 with N and 01131.000 with W in the next column are 48.1173 north and 11.5166... west."""
    rule = 'latitude = { from = ["a", "ns"], unit = "degrees_minutes" }\n'
    rule += 'longitude = { from = ["o", "ew"], unit = "degrees_minutes" }\n'
    text = "when,a,ns,o,ew\n2024-05-01T06:00:00Z,4807.038,N,01131.000,W\n"
    recording = read(text, f'[time]\nfrom = "when"\n[columns]\n{rule}')
    assert recording.latitude[0] == pytest.approx(48.1173, abs=1e-12)
    assert recording.longitude[0] == pytest.approx(-(11 + 31 / 60), abs=1e-12)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_a_continental_table(encoding: str, end: str) -> None:
    """Semicolons, decimal commas, a date and a time apart, names with umlauts: read in every encoding and line end."""
    shape = '[file]\ndelimiter = ";"\ndecimal = ","\n[time]\nfrom = ["Tag", "Zeit"]\nis = "text"\n'
    shape += 'format = "%d.%m.%Y %H:%M:%S%.f"\nzone = "Europe/Berlin"\n[columns]\nheight_m = "Höhe"\n'
    text = f"Tag;Zeit;Höhe{end}01.05.2024;08:00:00,5;1.024,5{end}01.05.2024;08:00:01,5;80{end}"
    recording = read(text.encode(encoding), shape)
    assert recording.time_s[0] == datetime(2024, 5, 1, 6, tzinfo=UTC).timestamp() + 0.5
    assert recording.height_m.tolist() == [1024.5, 80.0]


@pytest.mark.parametrize(
    ("rule", "time"),
    [
        ('from = "when"\nis = "epoch s"', "1714543200.5"),
        ('from = "when"\nis = "epoch ms"', "1714543200500"),
        ('from = "when"', "2024-05-01 06:00:00.5Z"),
        ('from = "when"', "2024-05-01T08:00:00.5+02:00"),
        ('from = "when"\nzone = "Europe/London"', "2024-05-01T07:00:00.5"),
        ('from = "when"\nis = "elapsed s"\nstart = 2024-05-01T06:00:00Z', "0.5"),
        ('from = "when"\nis = "elapsed ms"\nstart = 2024-05-01T06:00:00Z', "500"),
        ('from = "when"\nis = "elapsed h:m:s"\nstart = 2024-05-01T05:00:00Z', "1:00:00.5"),
        ('from = "when"\nis = "elapsed h:m:s"\nstart = 2024-05-01T05:58:00Z', "2:00.5"),
        ('from = "when"\nis = "text"\nformat = ["%Y", "%d/%m/%y %I:%M:%S%.f %p"]', "01/05/24 06:00:00.5 AM"),
        ('from = "when"\nis = "text"\nformat = "%H:%M:%S%.f %z %d/%m/%Y"\nabbreviations = { BST = "+01:00" }',
         "07:00:00.5 BST 01/05/2024"),
    ],
)  # fmt: skip
def test_ways_of_writing_a_time(rule: str, time: str) -> None:
    """Half a second past six on 1 May 2024 UTC is 1714543200.5, in whichever way it is written."""
    assert datetime(2024, 5, 1, 6, tzinfo=UTC).timestamp() == 1714543200.0
    assert timed(rule, time).time_s.tolist() == [1714543200.5]


def test_a_start_that_stands_in_the_file_or_its_name() -> None:
    """Elapsed seconds count from what stands above the columns, or in the file's name; else a message says so."""
    shape = '[file]\nheader_line = 2\n[time]\nfrom = "s"\nis = "elapsed s"\nzone = "Europe/London"\n'
    shape += "start_pattern = '(\\d{8}-\\d{6})'\nstart_format = '%Y%m%d-%H%M%S'\n[columns]\nspeed_ms = 'v'\n"
    rows = "\ns,v\n1,10\n"
    six = datetime(2024, 5, 1, 6, tzinfo=UTC).timestamp()
    assert read("began 20240501-070000" + rows, shape).time_s.tolist() == [six + 1]
    assert read_all("" + rows, shape, "20240501-070000.csv")[0].time_s.tolist() == [six + 1]
    nothing = read("began 99999999-999999" + rows, shape)
    assert (nothing.time_s.tolist(), codes(nothing)) == ([1.0], {"no_start": 0})


def test_the_hour_that_comes_twice() -> None:
    """On 29 October 2023 the London clock goes from 01:59:59 to 01:00:00; the fixes run on, ten seconds each."""
    zone = ZoneInfo("Europe/London")
    start = int(datetime(2023, 10, 29, 0, 30, tzinfo=UTC).timestamp())
    truth = np.arange(start, start + 5400, 10)
    times = [datetime.fromtimestamp(moment, zone).strftime("%Y-%m-%d %H:%M:%S") for moment in truth]
    recording = timed('from = "when"\nzone = "Europe/London"', *times)
    assert recording.time_s.tolist() == truth.tolist()
    assert codes(recording) == {"hour_twice": 180 + 360}


def test_the_hour_that_comes_twice_without_a_step_back() -> None:
    """A recording within that hour alone is taken as of its first time, and a message says so."""
    recording = timed('from = "when"\nzone = "Europe/London"', "2023-10-29 01:10:00", "2023-10-29 01:10:01")
    assert recording.time_s[0] == datetime(2023, 10, 29, 0, 10, tzinfo=UTC).timestamp()
    assert codes(recording) == {"hour_twice_first": 2}


def test_the_hour_that_is_missing() -> None:
    """On 31 March 2024 London has no 01:30: such a time is none, and counted; those around it are read."""
    times = ("2024-03-31 00:59:59", "2024-03-31 01:30:00", "2024-03-31 02:00:00")
    recording = timed('from = "when"\nzone = "Europe/London"', *times)
    assert recording.time_s[2] - recording.time_s[0] == 1.0
    assert np.isnan(recording.time_s[1])
    assert codes(recording)["skipped_hour"] == 1


def test_two_devices_in_one_table() -> None:
    """Rows of two devices, interleaved, are two recordings in their order, each with its device's name and hour.

    The second device's times would be a step back in the hour that comes twice, were they read as one recording's.
    """
    rows = [("B", "01:50:00"), ("A", "01:10:00"), ("B", "01:50:01"), ("A", "01:10:01")]
    text = "unit,when,lat,lon\n" + "".join(f"{unit},2023-10-29 {time},51.5,-1\n" for unit, time in rows)
    first, second = read_all(text, f'[time]\nfrom = "when"\nzone = "Europe/London"\n{PLACE}device = "unit"\n')
    assert (first.device.serial, second.device.serial) == ("B", "A")
    assert [len(first), len(second)] == [2, 2]
    assert first.time_s[0] - second.time_s[0] == 2400.0


def test_acceleration_has_a_rate_of_its_own() -> None:
    """Rows of acceleration alone are no fixes; 9.80665 m/s2 are one g; the position's rows stay fixes."""
    axes = "".join(f'acceleration_{axis} = {{ from = "{axis}", unit = "m/s2" }}\n' for axis in "xyz")
    text = "when,lat,lon,x,y,z\n0,51.5,-1,0,0,9.80665\n20,,,0,0,19.6133\n40,51.6,-1,,,\n"
    shape = f'[time]\nfrom = "when"\nis = "elapsed ms"\nstart = 2024-05-01T06:00:00Z\n{PLACE}{axes}'
    recording = read(text, shape)
    assert recording.motion is not None
    assert recording.motion.g.tolist() == [[0, 0, 1], [0, 0, 2]]
    assert np.diff(recording.motion.time_s) == pytest.approx([0.02], abs=1e-6)
    assert recording.latitude.tolist() == [51.5, 51.6]


def test_laps_and_sport() -> None:
    """Laps are segments in the order in which they come, and the sport is the table's word."""
    head = "time,latitude,longitude,lap,sport\n"
    rows = "".join(f"2024-05-01T06:00:0{i}Z,51,1,{lap},walk\n" for i, lap in enumerate(("w", "w", "c")))
    recording = read(head + rows)
    assert (recording.segment.tolist(), recording.sport) == ([0, 0, 1], "walk")


def test_what_is_broken_in_a_table() -> None:
    """Blank lines, repeated names, words for numbers and a cut last line lose only themselves, and are told."""
    rows = ["2024-05-01T06:00:00Z,51.5,1", "", "time,latitude,longitude", "soon,51.6,1", "2024-05-01T06:00:02Z,x,1"]
    recording = read("time,latitude,longitude\n" + "\n".join(rows) + "\n2024-05-01T06:00")
    assert recording.latitude[:2].tolist() == [51.5, 51.6]
    assert len(recording) == 3
    told = codes(recording)
    assert (told["repeated_header"], told["unreadable_times"], told["not_numbers"], told["half_position"]) == (
        1,
        1,
        1,
        1,
    )
    assert told["line_cut_off"] == len("2024-05-01T06:00")


def test_a_quote_that_is_never_closed() -> None:
    """A quote that never closes is a letter like any other, and swallows none of the rows behind it."""
    rows = "".join(f"2024-05-01T06:00:0{i}Z,51.5,1,{note}\n" for i, note in enumerate(('5" off', "", '"wet')))
    assert len(read(f"time,latitude,longitude,note\n{rows}")) == 3


@pytest.mark.parametrize("text", ["foo;bar\n1;2\n", "a\n", "words without any table"])
def test_a_table_that_no_shape_fits(text: str) -> None:
    """A table of other columns is refused, its columns named, with what to do."""
    with pytest.raises(NoShapeFitsError, match="write a shape") as caught:
        read(text)
    assert caught.value.columns == tuple(text.splitlines()[0].split(";"))


def test_times_that_are_not_as_the_shape_says() -> None:
    """A table none of whose times can be read is refused, and one of them is shown."""
    with pytest.raises(RecordingRefusedError, match="'half past six'"):
        timed('from = "when"', "half past six", "seven")


def test_times_that_no_shipped_shape_reads_name_the_way_to_one_of_the_yards_own() -> None:
    """A yard without a shape is not told to mend its shape, but how it comes to one; one with a shape is."""
    text = "Timestamp;Latitude;Longitude\n20/05/2026 05:00:00;51,25;-1,5\n"
    with pytest.raises(RecordingRefusedError, match=r"upsides read --propose a\.csv drafts a shape"):
        read_csv(text.encode(), "a.csv")
    with pytest.raises(RecordingRefusedError, match="mend `time` in the shape"):
        timed('from = "when"', "half past six")


def test_decimal_commas_read_by_themselves() -> None:
    """A table with usual headings and semicolons, saved where decimals have commas, needs no shape."""
    text = "time;lat;lon;hr\n2026-05-20T05:00:00Z;51,25;-1,5;80\n2026-05-20T05:00:01Z;51,251;-1,5;80,5\n"
    one = read(text)
    assert one.latitude.tolist() == [51.25, 51.251]
    assert (one.longitude[0], one.heart_bpm[1]) == (-1.5, 80.5)
    assert one.messages == ()


def test_the_table_of_names_alone() -> None:
    """A table without rows is a recording of no fixes that says so."""
    for end in ("", "\n", "\n\n"):
        assert codes(read("time,latitude,longitude" + end)) == {"no_fixes": 0}


@pytest.mark.parametrize(
    ("shape", "key"),
    [
        ('[time]\nfrom = "a"\n[columns]\nlatitud = "b"', "columns.latitud"),
        ('[time]\nfrom = "a"\n[columns]\nspeed_ms = { from = "b", unit = "kmh" }', "columns.speed_ms.unit"),
        ('[time]\nfrom = "a"\nis = "text"\n[columns]\nlatitude = "b"', "time.format"),
        ('[time]\nfrom = "a"\nzone = "Mars/North"\n[columns]\nlatitude = "b"', "time.zone"),
        ('[time]\nfrom = "a"\nabbreviations = { PDT = -7 }\n[columns]\nlatitude = "b"', "time.abbreviations.PDT"),
        ('[time]\nfrom = "a"\nstart = 2024-05-01\n[columns]\nlatitude = "b"', "time.start"),
        ('[time]\nfrom = "a"\nstart_pattern = "("\n[columns]\nlatitude = "b"', "time.start_pattern"),
        ('[file]\nencoding = "elvish"\n[time]\nfrom = "a"\n[columns]\nlatitude = "b"', "file.encoding"),
        ('[file]\nheader_line = 0\n[time]\nfrom = "a"\n[columns]\nlatitude = "b"', "file.header_line"),
        ('[columns]\nlatitude = "b"', "time.from"),
        ('[time]\nfrom = "a"', "columns"),
        ("time = 3", "time"),
    ],
)
def test_a_shape_that_cannot_be_used(shape: str, key: str) -> None:
    """Each mistake in a shape is refused by the key at fault."""
    with pytest.raises(ShapeError) as caught:
        read_shape(HEAD + shape, "mine.toml")
    assert caught.value.key == key
    assert "mine.toml" in str(caught.value)


def test_a_shape_that_is_no_toml_or_of_a_later_format() -> None:
    """Text that is no TOML, and a format that is not known, are refused."""
    for text in ("format = ", "format = 2"):
        with pytest.raises(ShapeError, match="shape mine"):
            read_shape(text, "mine")


def test_shipped_shapes_are_sound() -> None:
    """Every shape that comes with the program can be read, and asks for a time and a position."""
    assert {shape.file for shape in shipped_shapes()} >= {"plain", "semicircles"}
    assert all({"latitude", "longitude"} <= shape.fields.keys() for shape in shipped_shapes())


@pytest.mark.parametrize(
    "heading", ["time,lat,lon,ele,hr", "timestamp,Lat,Lon,ele,HR", "timestamp,latitude,longitude,altitude,heart_rate"]
)
def test_usual_headings_need_no_shape(heading: str) -> None:
    """Tables with the headings that many loggers write are read by shapes that come with the program."""
    (recording,) = read_csv(f"{heading}\n2024-05-01T06:00:00Z,51.5,-1.25,80,90\n".encode(), "a.csv")
    found = recording.latitude[0], recording.longitude[0], recording.height_m[0], recording.heart_bpm[0]
    assert found == (51.5, -1.25, 80.0, 90.0)


@pytest.mark.parametrize(
    "text",
    [
        "Date;Time;Latitude;Longitude;Speed (km/h);Elev;HR;x\n01/05/2024;06:00:00;51,5;-1,25;36,0;80;90;1\n",
        'Logger "7"\n\nstamp,lat,lng,speed_kmh,altitude,heart rate\n1714543200,51.5,-1.25,36.0,80,90\n',
        "time\tlat\tlon\tspeed km/h\talt\tbpm\n2024-05-01T06:00:00Z\t515000000\t-12500000\t36\t80\t90\n",
    ],
)
def test_a_proposed_shape_reads_the_table_it_was_made_for(text: str) -> None:
    """The draft for a table is a shape that reads it: its time, its position, its speed in m/s, its heart."""
    draft = propose(text.encode(), "a.csv")
    if "515000000" in text:  # seven digits and more look like semicircles; only an eye can tell
        draft = draft.replace('"semicircles"', '"1e-7 degrees"')
    (recording,) = read_csv(text.encode(), "a.csv", [read_shape(draft, "draft")])
    assert recording.time_s.tolist() == [1714543200.0]
    assert (recording.latitude[0], recording.longitude[0]) == pytest.approx((51.5, -1.25))
    assert (recording.speed_ms[0], recording.height_m[0], recording.heart_bpm[0]) == pytest.approx((10.0, 80.0, 90.0))


@pytest.mark.parametrize(
    ("when", "asked"), [("20/05/2026 05:00:00", True), ("2026-05-20T05:00:00", True), ("2026-05-20T05:00:00Z", False)]
)
def test_a_draft_asks_for_the_zone_of_times_that_name_none(when: str, asked: bool) -> None:  # noqa: FBT001 -- a value
    """A draft for local times says that the yard's zone is wanted, one for times with their zone does not."""
    draft = propose(f"when;time\nx;{when}\n".encode(), "a.csv")
    assert ("THESE TIMES NAME NO ZONE" in draft) == asked


def test_nothing_to_propose() -> None:
    """A file without a line that names a time is refused, its first words shown."""
    with pytest.raises(NoShapeFitsError, match="a, b"):
        propose(b"a,b\n1,2\n", "a.csv")


def test_times_that_name_no_zone_are_told() -> None:
    """Where neither the times nor the shape name a zone, that they were taken as UTC is said, in the night when the
    clock is changed as on any; a shape that says so, and times with a zone, say nothing."""
    rows = "time,latitude,longitude\n2026-10-25 01:30:00,51.5,-1\n2026-10-25 01:30:01,51.5,-1\n"
    one = read(rows)
    assert [(message.code, message.count) for message in one.messages] == [("zone_unsaid", 2)]
    zoned = read(rows.replace(":00,", ":00+01:00,").replace(":01,", ":01+01:00,"))
    assert zoned.messages == ()
    said = timed('from = "when"\nzone = "UTC"', "2026-10-25 01:30:00", "2026-10-25 01:30:01")
    assert said.messages == ()
