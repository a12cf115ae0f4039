"""Inputs to begin with: what our writers write, small documents, and the smaller shared recordings where they are."""

import gzip
import io
import os
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np

from upsides.recordings.formats.fit import write_fit
from upsides.recordings.recording import Device, Motion, Recording, Speeds

LARGEST_SHARED = 4_096
GPX = b"""<?xml version="1.0"?><gpx version="1.1" creator="a" xmlns="http://www.topografix.com/GPX/1/1">
<wpt lat="52.1" lon="0.4"/><trk><type>riding</type><trkseg>
<trkpt lat="52.1" lon="0.4"><ele>31.5</ele><time>2026-03-29T00:59:59Z</time><speed>4.1</speed><hdop>1.1</hdop>
<extensions><x:hr xmlns:x="urn:x">88</x:hr></extensions></trkpt>
<trkpt lat="52.1001" lon="0.4001"><ele>31,5</ele><time>2026-03-29T02:00:00.250+01:00</time></trkpt></trkseg>
<trkseg><trkpt lat="0" lon="0"/></trkseg></trk><rte><rtept lat="52" lon="0"/></rte></gpx>"""
TCX = b"""<?xml version="1.0"?><TrainingCenterDatabase
xmlns="http://www.garmin.com/xmlschemas/TrainingCenterDatabase/v2"><Activities><Activity Sport="Other"><Id>a</Id>
<Lap StartTime="2026-03-01T06:00:00Z"><DistanceMeters>12</DistanceMeters><Track>
<Trackpoint><Time>2026-03-01T06:00:00Z</Time><Position><LatitudeDegrees>52.1</LatitudeDegrees>
<LongitudeDegrees>0.4</LongitudeDegrees></Position><AltitudeMeters>30</AltitudeMeters><DistanceMeters>0</DistanceMeters>
<HeartRateBpm><Value>90</Value></HeartRateBpm></Trackpoint><Trackpoint><Time>2026-03-01T06:00:01Z</Time>
<HeartRateBpm><Value>255</Value></HeartRateBpm></Trackpoint></Track></Lap>
<Creator><Name>a</Name><UnitId>1</UnitId></Creator></Activity></Activities></TrainingCenterDatabase>"""
NMEA = b"""$GPRMC,060000.20,A,5206.0000,N,00024.0000,E,8.5,90.0,010326,,,A*6D
$GPGGA,060000.20,5206.0000,N,00024.0000,E,1,09,0.9,31.2,M,46.9,M,,*5B
$GNRMC,060000.40,A,5206.0010,N,00024.0020,E,8.6,90.1,010326,,,A
$GPVTG,90.0,T,,M,8.6,N,15.9,K,A*00
$GPGST,060000.40,1.2,,,,1.0,1.1,2.0*00
"""
CSV = b"""time,latitude,longitude,speed_kmh,heart_rate,altitude
2026-03-01 06:00:00.0,52.1,0.4,14.2,88,31.5
2026-03-01 06:00:00.2,52.1001,0.4001,"14,4",,31.6
2026-03-01 06:00:00.4,,,,255,
"""


def seeds(name: str) -> list[bytes]:
    """Return inputs for a reader."""
    own: dict[str, Callable[[], list[bytes]]] = {
        "fit": _fit,
        "gpx": lambda: [GPX],
        "tcx": lambda: [TCX],
        "nmea": lambda: [NMEA],
        "csv": lambda: [CSV, CSV.replace(b",", b";"), CSV.decode().encode("utf-16")],
        "opening": _packed,
    }
    return own[name]() + list(_shared(name))


def _fit() -> list[bytes]:
    count = 12
    motion = Motion(1.8e9 + np.arange(40) / 25, np.full((40, 3), 0.5))
    full = Recording.of_columns(
        "a.fit",
        "fit",
        count,
        time_s=1.8e9 + np.arange(count) / 5,
        latitude=np.full(count, 52.1),
        longitude=np.full(count, 0.4),
        speed_ms=np.arange(count) * 1.0,
        height_m=np.full(count, 31.5),
        heart_bpm=np.arange(count) + 90.0,
        distance_m=np.arange(count) * 3.0,
        segment=np.arange(count) // 6,
        device=Device("255", "a name", "77"),
        motion=motion,
    )
    whole = write_fit(full)
    dense = Speeds(full.time_s[0] + np.arange(40) / 10, np.linspace(0.0, 9.0, 40))
    within = write_fit(replace(full, speeds=dense), in_records=True)
    bare = write_fit(Recording.of_columns("b.fit", "fit", 3, heart_bpm=np.full(3, 80.0)))
    return [whole, bare, within, whole + bare, whole[:-9], whole[: len(whole) // 2], *HAND_MADE]


def _message(kind: int, *parts: bytes) -> bytes:
    return bytes([kind]) + b"".join(parts)


def _hand_made() -> Iterator[bytes]:
    """Yield FIT of kinds that our writer does not write: short times, packed speed, beats, dense places, counts."""
    clock = _message(0x40, b"\0\1\0\x14\2", bytes([253, 4, 0x86, 3, 1, 2])) + b"\0\x3b\xb4\x86\xa2\x58"
    short = _message(0x41, b"\0\0\x14\0\2", bytes([3, 1, 2, 8, 3, 13])) + b"\xa3\x59\x10\x20\x30\xa7\x5a\x11\x21\x31"
    beats = _message(0x42, b"\0\0\x84\0\4", bytes([253, 4, 0x86, 0, 2, 0x84, 9, 4, 0x86, 6, 1, 2]))
    beats += b"\2\xa3\x86\xb4\x3b\0\x40\0\4\0\0\x60"
    beats += _message(0x43, b"\0\0\x84\0\2", bytes([10, 3, 13, 6, 2, 2])) + b"\3\x10\x48\x90\x61\x62"
    place = _message(0x44, b"\0\0\xa0\0\5", bytes([253, 4, 0x86, 0, 2, 0x84, 1, 4, 0x85, 2, 4, 0x85, 4, 4, 0x86]))
    place += b"".join(b"\4\xa3\x86\xb4\x3b" + bytes([i, 0]) + b"\1\2\3\4\5\6\7\x08\x10\x20\0\0" for i in range(3))
    turn = _message(
        0x45, b"\0\0\xa7\0\6", bytes([0, 1, 0, 1, 4, 0x86, 2, 4, 0x86, 3, 4, 0x86, 4, 12, 0x85, 5, 36, 0x85])
    )
    turn += b"\5\0\1\0\0\0\0\4\0\0\0\x80\0\0" + bytes(12) + b"\xff\xff\0\0" * 9
    counts = _message(0x46, b"\0\0\xa5\0\6", bytes([253, 4, 0x86, 0, 2, 0x84, 1, 4, 0x84]))
    counts += bytes([2, 4, 0x84, 3, 4, 0x84, 4, 4, 0x84]) + b"\6\xa3\x86\xb4\x3b\0\0\0\0\x0a\0" + b"\0\x80\1\x80" * 3
    for body in (clock + short, clock + beats, clock + place, clock + turn + counts, clock + b"\x0f" + clock * 3):
        yield bytes([12, 16, 0, 8]) + len(body).to_bytes(4, "little") + b".FIT" + body


HAND_MADE = list(_hand_made())


def _packed() -> list[bytes]:
    told = [GPX, TCX, NMEA, CSV, _fit()[0], gzip.compress(GPX, mtime=0)]
    archive = io.BytesIO()
    with zipfile.ZipFile(archive, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("a.gpx", GPX)
        packed.writestr("b/c.fit", _fit()[0])
    return [*told, archive.getvalue()]


def _shared(name: str) -> Iterator[bytes]:
    folder = Path(os.environ.get("UPSIDES_SHARED", "../shared/data")) / "recordings"
    for place in sorted(folder.glob(f"*.{name}")) if folder.is_dir() else []:
        whole = place.read_bytes()
        yield whole if len(whole) <= LARGEST_SHARED else whole[:LARGEST_SHARED]
