"""From a file that came in to tracks beside the books, and a word about each: what a process does with one file."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from upsides.books.outings import kept, kept_works, read_messages
from upsides.books.recordings.files import HEIGHTS, SHAPES, keep_original, original, track_file, write
from upsides.books.recordings.session import Came, Session
from upsides.books.recordings.tracks import MEASURED, kept_track
from upsides.errors import (
    OriginalMissingError,
    RecordingRefusedError,
    TileRefusedError,
    UpsidesError,
)
from upsides.errors.wording import gettext as _
from upsides.recordings.bouts.bout import bouts_of
from upsides.recordings.elevation import Tile, read_tile
from upsides.recordings.formats.csv import Shape, load_shape
from upsides.recordings.gallops.shape import Gallop
from upsides.recordings.interleaved import apart
from upsides.recordings.measuring import measured, works_of
from upsides.recordings.opening import LIMITS, open_bytes
from upsides.recordings.packed import packed
from upsides.recordings.recording import Message, Recording
from upsides.recordings.sentences import Value
from upsides.recordings.track import Track
from upsides.recordings.tracking import track_of
from upsides.recordings.unpacking import Plain, unpack
from upsides.recordings.week_count import put_right


@dataclass(frozen=True, slots=True)
class Reader:
    """What reading needs besides a file.

    Args:
        folder: the library's folder.
        gallops: the yard's gallops, by their numbers in the books.
        came: when the files come in; None where that says nothing of their day.
    """

    folder: Path
    gallops: Mapping[int, Gallop] = field(default_factory=dict)
    came: datetime | None = None

    def taken(self, file: Mapping[str, str]) -> list[Came]:
        """Read a file, packed or not; keep the original of each recording in it, and write their tracks.

        Args:
            file: its `path` in the folder, and the `name` by which it came.
        """
        name = file["name"]
        try:
            data = (self.folder / file["path"]).read_bytes()
        except OSError as error:
            return [Came(name, refused=f"{name}: it cannot be opened ({error.strerror})")]
        return self.taken_bytes(data, name)

    def taken_bytes(self, data: bytes, name: str) -> list[Came]:
        """Read the bytes of a file as `taken` does, whatever it was called."""
        return [
            _of_plain(self, found)
            if isinstance(found, Plain)
            else Came(str(getattr(found, "file", name)), refused=str(found))
            for found in unpack(data, name, LIMITS)
        ]


def again(
    folder: Path, sha: str, part: int, name: str, came: datetime, gallops: Mapping[int, Gallop]
) -> tuple[Track, dict[str, Any]]:
    """Make a track again from the original, write it, and return it with what was measured.

    Args:
        folder: the library's folder.
        sha: of the original.
        part: which of its recordings.
        name: of the file.
        came: when its file came in.
        gallops: the yard's, by their numbers in the books.

    Raises:
        OriginalMissingError: the original is not there.
        RecordingRefusedError: it can no longer be read.
    """
    recordings = _recordings(folder, original(folder, sha, name), name, came)
    if part >= len(recordings):
        raise OriginalMissingError(name, sha, _("it no longer holds recording {part}", part=part + 1))
    return _tracked(folder, sha, part, recordings[part], gallops)


def _of_plain(reader: Reader, plain: Plain) -> Came:
    try:
        recordings = _recordings(reader.folder, plain.data, plain.file, reader.came)
    except UpsidesError as error:
        return Came(plain.file, refused=str(error))
    sha = keep_original(reader.folder, plain.data)
    told, size = tuple(plain.messages), len(plain.data)
    sessions = (_session(reader, sha, part, recording, size, told) for part, recording in enumerate(recordings))
    return Came(plain.file, tuple(sessions))


def _recordings(folder: Path, data: bytes, name: str, came: datetime | None) -> list[Recording]:
    """Return the recordings of a file, each of one device.

    Raises:
        UpsidesError: there is none.
    """
    opened = next(iter(open_bytes(data, name, shapes=own_shapes(folder))))
    if opened.error is not None:
        raise opened.error
    return [part for recording in opened.recordings for part in apart(put_right(recording, came))]


def _session(
    reader: Reader, sha: str, part: int, recording: Recording, size: int, told: tuple[Message, ...]
) -> Session:
    began = ended = measured_ = None
    try:
        track, measured_ = _tracked(reader.folder, sha, part, recording, reader.gallops)
        began, ended = float(track.time_s[0]), float(track.time_s[-1])
        messages = (*told, *read_messages(measured_["messages"]))
    except RecordingRefusedError:
        messages = (*told, *recording.messages, _no_track(recording))
    return Session(
        sha, part, recording.file, recording.format, size, recording.device, recording.sport, began, ended,
        len(recording), messages, measured_,
    )  # fmt: skip


def _no_track(recording: Recording) -> Message:
    """Say why a recording makes no track: too few of its fixes have a time, or no time passes between them."""
    timed = recording.time_s[np.isfinite(recording.time_s)]
    told: dict[str, Value] = {"count": len(recording)}
    if not len(recording):
        return Message("no_track", told)
    if timed.size < 2:
        return Message("no_track_no_times", told | {"timed": timed.size})
    return Message("no_track_no_time_passes", told | {"seconds": f"{np.ptp(timed):.3g}"})


def on_gallops(folder: Path, sha: str, part: int, gallops: Mapping[int, Gallop]) -> list[dict[str, Any]] | None:
    """Lay the works of a kept track on gallops anew, and keep that with it.

    Returns:
        The works, as the books keep them; None where the track is gone.
    """
    found = kept_track(folder, sha, part)
    if found is None:
        return None
    track, before = found
    works = kept_works(works_of(track, bouts_of(track), gallops))
    if works != before["works"]:
        write(track_file(folder, sha, part), packed(track, {MEASURED: before | {"works": works}}))
    return works


def _tracked(
    folder: Path, sha: str, part: int, recording: Recording, gallops: Mapping[int, Gallop]
) -> tuple[Track, dict[str, Any]]:
    track = track_of(recording, tile=tile_about(folder, recording))
    told = kept(measured(track, recording, gallops))
    write(track_file(folder, sha, part), packed(track, {MEASURED: told}))
    return track, told


def tile_about(folder: Path, recording: Recording) -> Tile | None:
    """Return the heights about a recording's places, where the yard has them."""
    if not (folder / HEIGHTS).is_dir():
        return None
    known = np.isfinite(recording.latitude) & np.isfinite(recording.longitude)
    if not known.any():
        return None
    south = int(np.floor(np.median(recording.latitude[known])))
    west = int(np.floor(np.median(recording.longitude[known])))
    corner = f"{'N' if south >= 0 else 'S'}{abs(south):02d}{'E' if west >= 0 else 'W'}{abs(west):03d}"
    found = (folder / HEIGHTS / f"{corner}.hgt{end}" for end in ("", ".gz"))
    return next((_read_tile(place) for place in found if place.is_file()), None)


@lru_cache(maxsize=2)
def _read_tile(place: Path) -> Tile | None:
    try:
        return read_tile(place.name, place.read_bytes())
    except (OSError, TileRefusedError):
        return None


def own_shapes(folder: Path) -> Sequence[Shape]:
    """Return the yard's own shapes of tables of recordings; one that cannot be read is left out."""
    found = []
    for place in sorted((folder / SHAPES).glob("*.toml")) if (folder / SHAPES).is_dir() else ():
        try:
            found.append(load_shape(place))
        except (OSError, UpsidesError):
            continue
    return found
