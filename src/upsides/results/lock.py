"""One writer at a time: a lock on a file that the operating system drops when its holder dies."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from upsides.errors import LibraryBusyError

if sys.platform == "win32":
    import msvcrt

    def _take(handle: int) -> None:
        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
else:
    import fcntl

    def _take(handle: int) -> None:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)


@contextmanager
def writing(folder: Path) -> Iterator[None]:
    """Hold the library's lock.

    Raises:
        LibraryBusyError: another process holds it.
    """
    handle = os.open(folder / "lock", os.O_RDWR | os.O_CREAT, 0o644)
    try:
        try:
            _take(handle)
        except OSError as error:
            holder = os.pread(handle, 64, 0).decode("ascii", "replace") if hasattr(os, "pread") else ""
            raise LibraryBusyError(folder, holder or "another process") from error
        os.ftruncate(handle, 0)
        os.write(handle, f"process {os.getpid()}".encode())
        yield
    finally:
        os.close(handle)
