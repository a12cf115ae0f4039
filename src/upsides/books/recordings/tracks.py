"""Tracks that were kept beside the books, and what was measured of them."""

from pathlib import Path
from typing import Any, Final

from upsides.books.recordings.files import track_file
from upsides.errors import TrackFileError
from upsides.recordings.packed import kept_with, unpacked
from upsides.recordings.track import Track

MEASURED: Final = "measured"
"""Under this name a track's file holds what was measured of it."""


def kept_track(folder: Path, sha: str, part: int) -> tuple[Track, dict[str, Any]] | None:
    """Return a track that was kept, with what was measured; None where it has to be made again."""
    place = track_file(folder, sha, part)
    try:
        track, more = unpacked(place.read_bytes(), place.name)
        return track, more[MEASURED]
    except (OSError, TrackFileError, KeyError):
        return None


def kept_measured(folder: Path, sha: str, part: int) -> dict[str, Any] | None:
    """Return what was measured of a track that was kept, without reading the track; None where it is gone."""
    place = track_file(folder, sha, part)
    try:
        found: dict[str, Any] = kept_with(place)[MEASURED]
    except (OSError, TrackFileError, KeyError):
        return None
    return found
