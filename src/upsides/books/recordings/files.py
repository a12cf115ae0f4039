"""Where the files of recordings lie in a library's folder, and how they are written: whole, or not at all."""

import gzip
import os
import zlib
from contextlib import suppress
from hashlib import sha256
from pathlib import Path
from typing import Final
from uuid import uuid4

from upsides.errors import OriginalMissingError
from upsides.errors.wording import gettext as _

ORIGINALS: Final = "recordings"
"""Originals, each packed with gzip under the SHA-256 of what is in it."""
WAITING: Final = "recordings/waiting"
"""What was sent and waits to be read, as it was sent."""
TRACKS: Final = "tracks"
"""Clean tracks, which are made again from the originals where they are missing."""
INCOMING: Final = "incoming"
"""Files laid here are taken in."""
READ, REFUSED = "read", "refused"
"""Folders in that one: where files go that were read, and those that could not be."""
HEIGHTS: Final = "heights"
"""Tiles of heights of the ground, as they are published."""
SHAPES: Final = "shapes"
"""The yard's own shapes of tables of recordings."""
PACKING: Final = 2
"""Of gzip: three times as fast as the usual 6, and 5 % larger for FIT."""


def original_file(folder: Path, sha: str) -> Path:
    """Return where the original of a recording lies."""
    return folder / ORIGINALS / sha[:2] / f"{sha}.gz"


def track_file(folder: Path, sha: str, part: int) -> Path:
    """Return where the track of a recording lies, or will."""
    return folder / TRACKS / sha[:2] / f"{sha}-{part}.parquet"


def waiting_file(folder: Path, sha: str) -> Path:
    """Return where a file that was sent waits to be read."""
    return folder / WAITING / sha


def keep_original(folder: Path, data: bytes) -> str:
    """Keep the bytes of a recording under their hash, unless they are kept already; return the hash."""
    sha = sha256(data).hexdigest()
    place = original_file(folder, sha)
    if not place.exists():
        write(place, gzip.compress(data, PACKING, mtime=0), on_disk=True)
    return sha


def original(folder: Path, sha: str, name: str) -> bytes:
    """Return the bytes of a recording.

    Args:
        folder: the library's folder.
        sha: their hash.
        name: what the file was called, for what is refused.

    Raises:
        OriginalMissingError: they are not there, or not as they were kept.
    """
    place = original_file(folder, sha)
    try:
        data = gzip.decompress(place.read_bytes())
    except FileNotFoundError:
        raise OriginalMissingError(name, place, _("its file is not there")) from None
    except (OSError, EOFError, zlib.error) as error:
        raise OriginalMissingError(name, place, _("its file cannot be unpacked ({error})", error=error)) from None
    if sha256(data).hexdigest() != sha:
        raise OriginalMissingError(name, place, _("its file was changed since it was kept"))
    return data


def write(place: Path, data: bytes, *, on_disk: bool = False) -> None:
    """Write a file that is there whole or not at all.

    Args:
        place: where; folders are made.
        data: its bytes.
        on_disk: whether it must outlive a loss of power from here on.
    """
    place.parent.mkdir(parents=True, mode=0o700, exist_ok=True)
    fresh = place.with_name(f".{place.name}.{os.getpid()}-{uuid4().hex[:8]}.part")
    try:
        with os.fdopen(os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as out:
            out.write(data)
            if on_disk:
                out.flush()
                os.fsync(out.fileno())
        fresh.replace(place)
    finally:
        with suppress(FileNotFoundError):
            fresh.unlink()
    if on_disk and os.name == "posix":
        handle = os.open(place.parent, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
