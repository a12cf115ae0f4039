"""A gallop's line out of a file: a canter on it, a route that was drawn, or a table of points."""

import csv
import io
import tomllib
from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import isfinite

import numpy as np
from numpy.typing import NDArray

from upsides.errors import GallopPointsError, MarksError, RecordingRefusedError, UpsidesError
from upsides.errors.wording import gettext as _
from upsides.recordings.bouts.bout import Bout, bouts_of, pieces_of
from upsides.recordings.formats.decoding import decoded
from upsides.recordings.gallops.from_track import gallop_from
from upsides.recordings.opening import read_bytes
from upsides.recordings.plane import from_plane
from upsides.recordings.recording import Recording
from upsides.recordings.track import Track
from upsides.recordings.tracking import tracks_of
from upsides.trade.units import FURLONG_M

Line = list[list[float | None]]
"""Points: latitude, longitude, and height or None."""

LATITUDE = ("latitude", "lat")
LONGITUDE = ("longitude", "lon", "lng", "long")
HEIGHT = ("height", "height_m", "elevation", "ele", "altitude", "alt")
PLACES = 7
"""Digits of a degree: a centimetre."""


def line_from(data: bytes, file: str) -> Line:
    """Return a gallop's line out of a file.

    Of a recording it is the longest canter or fast work in it, evened out; of one without any, a walk along the gallop,
    all of it; of a route without times the points as they were drawn. A TOML holds `points`, a CSV a point a line.

    Raises:
        GallopPointsError: no line can be taken out of it.
        GallopLineError: the line is no gallop.
    """
    if file.lower().endswith(".toml"):
        return _of_toml(data, file)
    if (points := _of_table(data, file)) is not None:
        return points
    try:
        recordings = read_bytes(_as_track(data), file)
    except RecordingRefusedError as error:
        raise GallopPointsError(file, error.reason) from None
    except UpsidesError as error:
        raise GallopPointsError(file, str(error)) from None
    found = [line for recording in recordings for line in _of_recording(recording)]
    if not found:
        raise GallopPointsError(file, _("it holds no positions that could be used"))
    return max(found, key=len)


def line_of_track(track: Track, piece: Bout, name: str) -> Line:
    """Return the line of a piece of work.

    Raises:
        GallopLineError: it is no gallop.
    """
    drawn = gallop_from(name, [(track, piece)])
    latitude, longitude = from_plane(drawn.plane, drawn.east_m, drawn.north_m)
    return _points(latitude, longitude, drawn.height_m)


def marks_from(text: str, length_m: float) -> list[float]:
    """Return where marks stand, metres from the start, out of what somebody typed.

    Args:
        text: "furlongs", a step such as "200m", or places such as "0,201.2,402.3"; empty for none.
        length_m: of the gallop.

    Raises:
        MarksError: it is none of these, or the marks do not stand along the gallop in order.
    """
    said = text.strip().lower().replace(" ", "")
    if not said:
        return []
    if said in {"furlong", "furlongs", "1f"}:
        return _every(FURLONG_M, length_m)
    try:
        if said.endswith("m") and "," not in said:
            return _every(float(said[:-1]), length_m, text)
        marks = [float(one.removesuffix("m")) for one in said.split(",")]
    except ValueError:
        raise MarksError(text, _("they are no numbers")) from None
    if not all(isfinite(one) for one in marks) or any(b <= a for a, b in pairwise(marks)):
        raise MarksError(text, _("they do not rise"))
    if marks[0] < -1 or marks[-1] > length_m + 1:
        raise MarksError(text, _("they do not stand on the gallop, which is {length_m:.0f} m long", length_m=length_m))
    return [round(one, 1) for one in marks]


def _every(step: float, length_m: float, text: str = "furlongs") -> list[float]:
    if not isfinite(step) or step < 20:
        raise MarksError(text, _("nearer to each other than 20 m no two marks stand"))
    return [round(step * k, 1) for k in range(int((length_m + 1) / step) + 1)]


def _of_toml(data: bytes, file: str) -> Line:
    try:
        points = tomllib.loads(data.decode("utf-8"))["points"]
        return _checked([[float(value) for value in point] for point in points], file)
    except (ValueError, KeyError, TypeError) as error:
        raise GallopPointsError(file, _("it cannot be read ({error!r})", error=error)) from None


def _as_track(data: bytes) -> bytes:
    """Return a GPX of a route alone with the route as a track, for the reader of recordings leaves out routes."""
    if b"<rtept" not in data or b"<trkpt" in data:
        return data
    for old, new in ((b"rtept", b"trkpt"), (b"<rte>", b"<trk><trkseg>"), (b"</rte>", b"</trkseg></trk>")):
        data = data.replace(old, new)
    return data


def _of_table(data: bytes, file: str) -> Line | None:
    """Return the points of a table with latitude and longitude and no time; None where it is no such table."""
    if b"\0" in data[:4096] or data[:64].lstrip().startswith((b"<", b"$", b"PK", b"\x1f\x8b")):
        return None
    text = decoded(data)[0]
    first = text.partition("\n")[0]
    delimiter = max(",;\t", key=first.count)
    rows = csv.reader(io.StringIO(text), delimiter=delimiter)
    heads = [head.strip().strip("\ufeff").lower() for head in next(rows, [])]
    where = [_place(heads, names) for names in (LATITUDE, LONGITUDE, HEIGHT)]
    if where[0] is None or where[1] is None or any("time" in head or "date" in head for head in heads):
        return None
    return _checked(list(_rows(rows, where, file, decimal="," if delimiter != "," else ".")), file)


def _rows(
    rows: "Iterator[list[str]]", where: Sequence[int | None], file: str, decimal: str
) -> Iterator[list[float | None]]:
    for number, row in enumerate(rows, start=2):
        if not any(cell.strip() for cell in row):
            continue
        try:
            cells = [None if at is None else row[at].strip().replace(decimal, ".") for at in where]
            yield [float(cell) if cell else None for cell in cells]
        except (IndexError, ValueError):
            raise GallopPointsError(file, _("line {number} holds no point", number=number)) from None


def _place(heads: Sequence[str], names: Sequence[str]) -> int | None:
    return next((heads.index(name) for name in names if name in heads), None)


def _checked(points: Sequence[Sequence[float | None]], file: str) -> Line:
    """Return points, each whole, none twice running.

    Raises:
        GallopPointsError: one is no place on earth, or there are fewer than two.
    """
    line: Line = []
    for number, point in enumerate(points, start=1):
        latitude, longitude, height = (*point, None)[:3] if len(point) >= 2 else (None, None, None)
        if latitude is None or longitude is None or not (abs(latitude) <= 90 and abs(longitude) <= 180):
            raise GallopPointsError(file, _("point {number} is no place on earth", number=number))
        if not line or line[-1][:2] != [latitude, longitude]:
            line.append([latitude, longitude, height])
    if len(line) < 2:
        raise GallopPointsError(file, _("it holds fewer than two points"))
    return line


def _of_recording(recording: Recording) -> list[Line]:
    """Return the line of each track in a recording that has one; of one without times the points in order."""
    try:
        tracks = tracks_of(recording)
    except UpsidesError:
        known = np.isfinite(recording.latitude) & np.isfinite(recording.longitude)
        drawn = _points(recording.latitude[known], recording.longitude[known], recording.height_m[known])
        return [_checked(drawn, recording.file)]
    return [
        line_of_track(track, piece, track_name) for track in tracks for piece, track_name in _longest(track, recording)
    ]


def _longest(track: Track, recording: Recording) -> list[tuple[Bout, str]]:
    """Return the longest piece of work of a track; without any, all of it; none where it has no places."""
    bouts = bouts_of(track)
    if track.plane is None or not bouts:
        return []
    pieces = pieces_of(bouts)
    if pieces:
        return [(max(pieces, key=lambda one: one.seconds), recording.file)]
    return [(Bout("walk", bouts[0].start_s, bouts[-1].end_s, 1.0), recording.file)]


def _points(latitude: NDArray[np.float64], longitude: NDArray[np.float64], height: NDArray[np.float64]) -> Line:
    known = np.isfinite(height)
    return [
        [round(float(a), PLACES), round(float(b), PLACES), round(float(h), 1) if there else None]
        for a, b, h, there in zip(latitude, longitude, height, known, strict=True)
    ]
