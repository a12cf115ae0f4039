"""NMEA 0183, held to sentences whose meaning others published, and to sentences worked by hand."""

from datetime import UTC, datetime

import numpy as np
import pytest

from upsides.recordings.formats.nmea import read_nmea
from upsides.recordings.formats.nmea.sentences import checksum
from upsides.recordings.recording import Recording

# bytefusion.com/products/ntm/pts/aboutgprmc.htm, with their fields explained there.
EXPLAINED = (
    b"$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47\r\n"
    b"$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A\r\n"
)
# A research ship's log, downloads.psl.noaa.gov, PISTON 2019, gps01925920_raw.txt: one moment with the logger's
# own count before each sentence, and the first sentence of the next.
SHIP = b"""0000045 $GPGGA,195959.00,1813.38282955,N,12606.12767097,E,2,07,1.4,17.2,M,36.5,M,4.0,0129*78
0000088 $GPGLL,1813.38282955,N,12606.12767097,E,195959.00,A,D*6D
0000125 $GPVTG,262.13,T,265.08,M,1.31,N,2.43,K,D*2D
0000159 $GPZDA,195959.00,16,09,2019,00,00*6A
0000171 $GPRMC,195959.00,A,1813.38282955,N,12606.12767097,E,1.31,262.13,160919,3.0,W,D*21
0000215 $GPGSA,M,3,01,07,08,09,11,18,27,,,,,,2.7,1.4,2.4*33
0000243 $GPGSV,3,1,12,01,43,189,44,07,36,319,47,08,53,342,48,09,21,253,44*7D
0000338 $GPGST,195959.00,0.30,0.35,0.20,292.62,0.23,0.33,0.71*62
0001044 $GPGGA,200000.00,1813.38274046,N,12606.12733500,E,2,07,1.4,17.3,M,36.5,M,5.0,0129*7A
"""


def said(*bodies: str) -> bytes:
    """Return sentences with their checksums."""
    return "".join(f"${body}*{checksum(body.encode()):02X}\r\n" for body in bodies).encode()


def read(data: bytes) -> Recording:
    (recording,) = read_nmea(data, "a.nmea")
    return recording


def rmc(time: str, date: str = "010524", *, status: str = "A", talker: str = "GP", knots: str = "10.0") -> str:
    return f"{talker}RMC,{time},{status},5130.000,N,00115.000,W,{knots},084.4,{date},003.1,W"


def gga(time: str, *, quality: int = 1, hdop: str = "0.9", height: str = "100.0", geoid: str = "46.0") -> str:
    return f"GNGGA,{time},5130.000,N,00115.000,W,{quality},08,{hdop},{height},M,{geoid},M,,"


def at(*parts: int) -> float:
    return datetime(*parts, tzinfo=UTC).timestamp()  # type: ignore[arg-type]  # the parts are a date's and a time's


def test_the_explained_sentences() -> None:
    """The published pair is one fix of 23 March 1994, 12:35:19, 48 deg 07.038' N, 11 deg 31' E, 22.4 knots, 545.4 m."""
    recording = read(EXPLAINED)
    assert recording.time_s.tolist() == [at(1994, 3, 23, 12, 35, 19)]
    assert recording.latitude == pytest.approx([48 + 7.038 / 60], abs=1e-12)
    assert recording.longitude == pytest.approx([11 + 31 / 60], abs=1e-12)
    assert recording.speed_ms == pytest.approx([22.4 * 1852 / 3600], abs=1e-12)
    assert recording.height_m.tolist() == [545.4]
    assert recording.messages == ()


def test_a_log_of_a_ship() -> None:
    """Eight sentences of one moment and one of the next are two fixes; the deviations make the first one's accuracy.

    The receiver's own ellipse of error, 0.35 by 0.20 m, has the same sum of squares as its 0.23 m north and 0.33 m
    east, to their digits.
    """
    recording = read(SHIP)
    assert recording.time_s.tolist() == [at(2019, 9, 16, 19, 59, 59), at(2019, 9, 16, 20, 0, 0)]
    assert recording.latitude == pytest.approx([18 + 13.38282955 / 60, 18 + 13.38274046 / 60], abs=1e-12)
    assert recording.speed_ms[0] == pytest.approx(2.43 / 3.6, abs=0.005 / 3.6)  # the same speed as it gives in km/h
    assert recording.accuracy_m[0] == pytest.approx(np.hypot(0.35, 0.20), abs=0.01)
    assert recording.accuracy_m[1] == pytest.approx(1.4 * 4)
    assert recording.height_m.tolist() == [17.2, 17.3]
    assert recording.messages == ()


@pytest.mark.parametrize("line", EXPLAINED.splitlines() + [line[8:] for line in SHIP.splitlines()])
def test_checksums_of_published_sentences(line: bytes) -> None:
    """The exclusive or of all that stands between $ and * is the number behind, in every published sentence."""
    body, _, given = line[1:].partition(b"*")
    assert checksum(body) == int(given, 16)


def test_a_damaged_sentence_is_dropped_and_counted() -> None:
    """One digit changed on the way drops its sentence; a line that was cut does too; the rest is read."""
    data = said(rmc("060000"), rmc("060001"), rmc("060002")).replace(b"060001,A,5130", b"060001,A,5139")
    recording = read(data + said(rmc("060003"))[:-20])
    assert np.diff(recording.time_s).tolist() == [2.0]
    counts = {message.code: message.count for message in recording.messages}
    assert counts == {"wrong_checksum": 1, "cut_sentences": 1}


def test_sentences_without_any_checksum() -> None:
    """A log of the old kind, without checksums, is read, and it is said that damage cannot be told."""
    recording = read(b"".join(line.partition(b"*")[0] + b"\r\n" for line in EXPLAINED.splitlines()))
    assert (len(recording), recording.height_m[0]) == (1, 545.4)
    assert [message.code for message in recording.messages] == ["no_checksums"]


def test_midnight_without_a_new_date() -> None:
    """Ten fixes a second over midnight, the date said only once before, run on without a step."""
    times = [f"2359{55 + i / 10:04.1f}" for i in range(50)] + [f"0000{i / 10:04.1f}" for i in range(50)]
    recording = read(said("GPZDA,235955.0,31,12,2023,00,00", *(gga(time) for time in times)))
    assert np.diff(recording.time_s) == pytest.approx(np.full(99, 0.1), abs=1e-6)
    assert recording.time_s[[0, -1]] == pytest.approx([at(2023, 12, 31, 23, 59, 55), at(2024, 1, 1, 0, 0, 4) + 0.9])


def test_a_date_that_comes_late_holds_for_what_was_before() -> None:
    """The date of the first RMC dates the GGA before it, a midnight earlier where one lies between."""
    recording = read(said(gga("235959"), gga("000000"), rmc("000001", "010124")))
    assert recording.time_s[0] == at(2023, 12, 31, 23, 59, 59)
    assert np.diff(recording.time_s).tolist() == [1.0, 1.0]


def test_no_date_at_all() -> None:
    """Without any date the times count from the first day of 1970, midnight included, and a message says so."""
    recording = read(said(gga("235959"), gga("000001")))
    assert recording.time_s.tolist() == [86399.0, 86401.0]
    assert [message.code for message in recording.messages] == ["no_date"]


def test_several_talkers_and_orders() -> None:
    """Sentences of GP, GL and GN of one time are one fix, in whatever order; VTG belongs to the time said before."""
    recording = read(
        said(
            rmc("060000", talker="GP", knots=""),
            rmc("060000", talker="GL", knots=""),
            gga("060000"),
            "GNVTG,054.7,T,034.4,M,020.0,N,037.0,K",
            gga("060000.1"),
            rmc("060000.1", talker="GN", knots="30"),
        )
    )
    assert recording.speed_ms == pytest.approx([20 * 1852 / 3600, 30 * 1852 / 3600])
    assert np.diff(recording.time_s) == pytest.approx([0.1], abs=1e-6)


def test_south_and_west_are_negative() -> None:
    """33 deg 30' S, 151 deg 15' W are -33.5 and -151.25."""
    recording = read(said("GPRMC,060000,A,3330.000,S,15115.000,W,10.0,,010524,,"))
    assert (recording.latitude[0], recording.longitude[0]) == (-33.5, -151.25)


def test_a_receiver_that_has_no_position_says_so() -> None:
    """Status V, or quality 0, leaves a fix without position, speed and height, and is counted."""
    recording = read(said(rmc("060000", status="V"), gga("060000"), gga("060001", quality=0), rmc("060002")))
    assert np.isfinite(recording.latitude).tolist() == [False, False, True]
    assert np.isfinite(recording.speed_ms).tolist() == [False, False, True]
    assert [(message.code, message.count) for message in recording.messages] == [("void", 2)]


def test_a_receiver_without_a_geoid() -> None:
    """Where the separation is 0 throughout, it is said that heights may be above the ellipsoid."""
    recording = read(said(rmc("060000"), gga("060000", geoid="0.0")))
    assert [message.code for message in recording.messages] == ["no_sea_level"]


@pytest.mark.parametrize("data", [b"", b"nothing", b"$GPGGA", b"$GPGGA,,,,,,,,,,,,,,*56\r\n", said("GPGSV,1,1,00")])
def test_nothing_to_read(data: bytes) -> None:
    """A file without a whole sentence, or without a time, is a recording of no fixes."""
    recording = read(data)
    assert (len(recording), recording.messages[-1].code) == (0, "no_fixes")


def test_fields_that_are_nonsense() -> None:
    """An hour of 25, a month of 13 and letters for numbers blank what they stand for and nothing else."""
    recording = read(said(rmc("060000"), rmc("250001"), rmc("060002", "011324"), gga("060003", hdop="nan", height="x")))
    assert recording.time_s.tolist() == [at(2024, 5, 1, 6, 0, second) for second in (0, 2, 3)]
    assert np.isnan(recording.height_m).all()
    assert np.isnan(recording.accuracy_m).all()
