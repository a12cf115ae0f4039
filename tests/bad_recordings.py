"""Files of recordings that are wrong in ways that happen, each with what must be said of it."""

import gzip
import io
import zipfile
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

import given_recordings as given
from upsides.recordings.formats.fit import write_fit
from upsides.recordings.plane import from_plane
from upsides.recordings.recording import Recording
from upsides.recordings.track import Plane

SHAPE = """format = 1
name = "local times"
[time]
from = "when"
zone = "Europe/London"
[columns]
latitude = "lat"
longitude = "lon"
"""
"""A shape of tables whose times are by the clock on the wall."""
DAYS = 3652


@dataclass(frozen=True, slots=True)
class Bad:
    """A file.

    Args:
        file: its name.
        data: makes its bytes.
        says: a part of what is said of it: the message, or why it is refused.
        recordings: how many are read out of it; none where it is refused.
        far: whether what was gone can still be told.
    """

    file: str
    data: Callable[[], bytes]
    says: str
    recordings: int = 1
    far: bool = True


def zip_bomb() -> bytes:
    """Return a zip of 40 kB that would unfold to 40 million letters."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("a.csv", b"0" * 40_000_000)
    return packed.getvalue()


def xml_bomb() -> bytes:
    """Return a GPX of ten entities, each ten times the one before."""
    entities = "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 10))
    return f'<!DOCTYPE gpx [<!ENTITY a0 "horse">{entities}]><gpx><trk><name>&a9;</name></trk></gpx>'.encode()


def ten_years() -> bytes:
    """Return a morning whose clock was set ten years on while the horse walked home."""
    one = given.recording()
    time = one.time_s.copy()
    time[-150:] += DAYS * 86400.0
    return write_fit(replace(one, time_s=time))


def two_devices() -> bytes:
    """Return a table in which the fixes of two trackers, two kilometres apart, take turns."""
    one, other = given.recording(), given.recording(beside_m=2000.0, seed=2)
    rows = [_row(recording, n) for n in range(0, len(one), 5) for recording in (one, other)]
    return ("time,latitude,longitude\n" + "".join(rows)).encode()


def _row(one: Recording, n: int) -> str:
    at = datetime.fromtimestamp(one.time_s[n], UTC)
    return f"{at:%Y-%m-%dT%H:%M:%SZ},{one.latitude[n]:.7f},{one.longitude[n]:.7f}\n"


def nowhere() -> bytes:
    """Return a morning whose receiver never had a position."""
    one = given.recording()
    return write_fit(replace(one, latitude=np.zeros(len(one)), longitude=np.zeros(len(one)), speed_ms=_none(one)))


def _none(one: Recording) -> np.ndarray:
    return np.full(len(one), np.nan)


def bicycle() -> bytes:
    """Return an hour's ride on a bicycle, which its file calls so."""
    return write_fit(replace(given.recording(canter_ms=9.0), sport="cycling"))


def heart_of_255() -> bytes:
    """Return a GPX whose strap had no contact, and wrote 255."""
    one = given.recording()
    points = [
        f'<trkpt lat="{one.latitude[n]:.7f}" lon="{one.longitude[n]:.7f}">'
        f"<time>{datetime.fromtimestamp(one.time_s[n], UTC):%Y-%m-%dT%H:%M:%SZ}</time>"
        f"<extensions><hr>255</hr></extensions></trkpt>"
        for n in range(0, len(one), 5)
    ]
    return gzip.compress(f"<gpx><trk><trkseg>{''.join(points)}</trkseg></trk></gpx>".encode(), mtime=0)


def lorry() -> bytes:
    """Return ten minutes at 300 km/h."""
    n = 600
    latitude, longitude = from_plane(given.PLANE, np.zeros(n), 83.33 * np.arange(n))
    time = given.AT.timestamp() + np.arange(n)
    return write_fit(Recording.of_columns("a.fit", "fit", n, time_s=time, latitude=latitude, longitude=longitude))


def date_line() -> bytes:
    """Return a canter over the date line."""
    one, n = given.recording(), given.way()[0].size
    latitude, longitude = from_plane(Plane(10.0, 180.0), given.way()[1] - 600.0, np.zeros(n))
    return write_fit(replace(one, latitude=latitude, longitude=longitude))


def night_of_the_clocks() -> bytes:
    """Return a walk through the hour that came twice in London on 29 October 2023, by the clock on the wall."""
    zone, start = ZoneInfo("Europe/London"), datetime(2023, 10, 29, 0, 30, tzinfo=UTC)
    moments = [(start + timedelta(seconds=10 * n)).astimezone(zone) for n in range(540)]
    latitude, longitude = from_plane(given.PLANE, np.zeros(540), 17.0 * np.arange(540))
    rows = [
        f"{at:%Y-%m-%d %H:%M:%S},{north:.7f},{east:.7f}\n"
        for at, north, east in zip(moments, latitude, longitude, strict=True)
    ]
    return ("when,lat,lon\n" + "".join(rows)).encode()


BAD = {
    "a zip bomb": Bad("bomb.zip", zip_bomb, "packed bytes", 0),
    "an XML bomb": Bad("bomb.gpx", xml_bomb, "<!ENTITY", 0),
    "a gap of ten years": Bad("years.fit", ten_years, "days"),
    "two devices interleaved": Bad("two.csv", two_devices, "two devices", 2),
    "positions at 0,0": Bad("nowhere.fit", nowhere, "0 north 0 east", far=False),
    "another sport": Bad("ride.fit", bicycle, ""),
    "a heart of 255": Bad("heart.gpx.gz", heart_of_255, "heart rate of 0 or 255"),
    "300 km/h": Bad("lorry.fit", lorry, "not a horse"),
    "the date line": Bad("line.fit", date_line, ""),
    "the night of the clocks": Bad("night.csv", night_of_the_clocks, "twice"),
}
"""By what is wrong with them."""
