"""Files that are on the disk when we say so."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO


@contextmanager
def new_file(path: Path, mode: int = 0o666) -> Iterator[BinaryIO]:
    """Give a file to write that was not there before; it is on the disk when the block ends."""
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode), "wb") as out:
        yield out
        out.flush()
        os.fsync(out.fileno())


def names_on_disk(place: Path) -> None:
    """Make sure that the names in a folder outlive a loss of power."""
    if os.name != "posix":
        return
    handle = os.open(place, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
