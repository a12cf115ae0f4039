"""One writer at a time: a lock on a file that the operating system drops when its holder dies."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from time import sleep
from typing import Final

from upsides.errors import LibraryBusyError
from upsides.errors.wording import gettext as _

if sys.platform == "win32":
    import msvcrt

    def _take(handle: int) -> None:
        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
else:
    import fcntl

    def _take(handle: int) -> None:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)


LOOK_S: Final = 0.05
"""How often one that waits looks whether the lock is free."""


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
            raise LibraryBusyError(folder, holder or _("another process")) from error
        os.ftruncate(handle, 0)
        os.write(handle, f"process {os.getpid()}".encode())
        yield
    finally:
        os.close(handle)


@contextmanager
def in_turn(file: Path) -> Iterator[None]:
    """Hold a file's lock, once whoever holds it has let go."""
    handle = os.open(file, os.O_RDWR | os.O_CREAT, 0o644)
    try:
        while not _free(handle):
            sleep(LOOK_S)
        yield
    finally:
        os.close(handle)


def _free(handle: int) -> bool:
    """Return whether a lock was free, and hold it."""
    try:
        _take(handle)
    except OSError:
        return False
    return True
