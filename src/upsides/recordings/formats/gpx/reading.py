"""The reader of GPX."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.formats.accuracy import METRES_PER_HDOP
from upsides.recordings.formats.columns import instants, numbers, settle
from upsides.recordings.formats.documents import Attributes, Document, Row, columns_of, texts
from upsides.recordings.recording import Device, Message, Recording

HEART = ("hr", "heartrate", "heart_rate", "heartratebpm", "heart", "bpm", "pulse")
HEAT = ("atemp", "temp", "temperature")
COLUMNS, PLACES = columns_of(
    {
        "@lat": "latitude",  # attributes: no element has such a name
        "@lon": "longitude",
        "time": "time",
        "ele": "height_m",
        "speed": "speed_ms",
        "hdop": "hdop",
        "geoidheight": "geoid",
        "distance": "distance_m",
        **dict.fromkeys(HEART, "heart_bpm"),
        **dict.fromkeys(HEAT, "air_c"),
    }
)
LATITUDE, LONGITUDE = PLACES["@lat"], PLACES["@lon"]
POINTS, OTHERS = ("trkpt", "rtept", "wpt"), ("gpx", "trk", "trkseg", "rte", "type")
MINUTES_TOGETHER = 2  # tracks that follow each other share the minute of their border, and no more
SAME = 0.1  # share of fixes, the same to the last digit, from which one track is a copy of another


@dataclass
class _Track:
    """One track, or one route, while it is read."""

    route: bool
    sport: str = ""
    rows: list[Row] = field(default_factory=list)
    parts: int = 0
    segment: list[int] = field(default_factory=list)


class _Tracks:
    """The tracks and routes of a document as it tells them."""

    def __init__(self) -> None:
        self.all: list[_Track] = []
        self.creator = ""
        self.waypoints = 0

    def begins(self, name: str, attributes: Attributes) -> None:
        if name == "gpx":
            self.creator = self.creator or attributes.get("creator", "")
        elif name in {"trk", "rte"}:
            self.all.append(_Track(route=name == "rte"))
        elif name == "trkseg" and self.all:
            self.all[-1].parts += 1

    def says(self, name: str, text: str, within: str) -> None:
        if name == "type" and within in {"trk", "rte"} and self.all:
            self.all[-1].sport = text

    def fix(self, name: str, attributes: Attributes, row: Row) -> None:
        if name == "wpt":
            self.waypoints += 1
            return
        if not self.all:
            self.all.append(_Track(route=name == "rtept"))
        row[LATITUDE], row[LONGITUDE] = attributes.get("lat"), attributes.get("lon")
        self.all[-1].segment.append(max(self.all[-1].parts - 1, 0))
        self.all[-1].rows.append(row)


def read_gpx(data: bytes, file: str) -> list[Recording]:
    """Read GPX 1.0 or 1.1: one recording of all its tracks, or one a track where they were recorded together.

    See SPECIFICATION.md for what is taken, and for what is said of routes and waypoints.

    Raises:
        EntitiesRefusedError: the document declares entities.
    """
    document = Document(data, file, "gpx", POINTS, OTHERS)
    tracks = _Tracks()
    document.read(PLACES, tracks)
    told = list(document.messages)
    device = Device(product=tracks.creator)
    groups = _groups(_timed([track for track in tracks.all if track.rows], told), told)
    if not groups:
        told.append(Message("no_fixes"))
        told += [Message("only_places", {"count": tracks.waypoints})] if tracks.waypoints else []
        return [Recording.of_columns(file, "gpx", 0, device=device, messages=tuple(told))]
    return [_recording(file, group, device, tuple(told)) for group in groups]


@dataclass(frozen=True)
class _Timed:
    track: _Track
    texts: dict[str, tuple[str | None, ...]]
    time_s: NDArray[np.float64]


def _timed(tracks: list[_Track], told: list[Message]) -> list[_Timed]:
    """Read the times; a route counts only where nothing else does and it has times, for else nobody went along it."""
    written = [texts(COLUMNS, track.rows) for track in tracks]
    times, odd = instants([text for one in written for text in one["time"]])
    ends = np.cumsum([len(track.rows) for track in tracks])[:-1]
    timed = [_Timed(*one) for one in zip(tracks, written, np.split(times, ends), strict=True)] if tracks else []
    told += odd
    went = [one for one in timed if not one.track.route]
    planned = [one for one in timed if one.track.route]
    if not went and any(np.isfinite(one.time_s).any() for one in planned):
        return planned
    if planned:
        told.append(Message("route", {"count": sum(len(one.track.rows) for one in planned)}))
    return went


def _groups(timed: list[_Timed], told: list[Message]) -> list[list[_Timed]]:
    """Return one group of all tracks; one group each where two recorded in the same minutes, and not the same."""
    minutes = [np.unique(one.time_s[np.isfinite(one.time_s)] // 60) for one in timed]
    together = sum(one.size for one in minutes) - np.unique(np.concatenate([*minutes, []])).size
    if together <= MINUTES_TOGETHER + len(timed):
        return [timed] if timed else []
    written = [set(zip(one.texts["time"], one.texts["latitude"], one.texts["longitude"], strict=True)) for one in timed]
    twice = sum(map(len, written)) - len(set().union(*written))
    if twice > SAME * min(map(len, written)):
        told.append(Message("repeated", {"count": twice}))
        return [timed]
    told.append(Message("tracks_together", {"count": len(timed)}))
    return [[one] for one in timed]


def _recording(file: str, group: list[_Timed], device: Device, told: tuple[Message, ...]) -> Recording:
    names = [name for name in group[0].texts if name != "time"]
    columns = {name: numbers([text for one in group for text in one.texts[name]]) for name in names}
    accuracy = columns.pop("hdop") * METRES_PER_HDOP
    geoid = _geoid(columns.pop("geoid"))
    time = np.concatenate([one.time_s for one in group])
    columns, odd = settle({"time_s": time, "accuracy_m": accuracy, **columns})
    first = np.cumsum([0, *(max(one.track.parts, 1) for one in group[:-1])])
    parts = [np.array(one.track.segment, dtype=np.int64) + start for one, start in zip(group, first, strict=True)]
    sports = dict.fromkeys(one.track.sport for one in group if one.track.sport)
    return Recording.of_columns(
        file,
        "gpx",
        time.size,
        segment=np.concatenate(parts),
        device=device,
        sport=", ".join(sports),
        motion=None,
        speeds=None,
        messages=(*told, *geoid, *odd),
        **columns,
    )


def _geoid(geoid: NDArray[np.float64]) -> tuple[Message, ...]:
    given = geoid[np.isfinite(geoid) & (geoid != 0)]
    if not given.size:
        return ()
    return (Message("geoid", {"count": given.size, "metres": f"{np.median(given):.1f}"}),)
