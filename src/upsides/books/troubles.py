"""What the machine says when it is in the way, in words that a person can act on."""

import errno
import shutil
import sqlite3

from django.conf import settings

from upsides.errors import (
    BooksBusyError,
    BooksDamagedError,
    BooksUnreachableError,
    DiskFaultError,
    NoRoomError,
    ReadOnlyError,
    UpsidesError,
)

NO_ROOM = 1 << 16
"""Bytes below which SQLite cannot so much as open its log."""

_SQLITE = {
    sqlite3.SQLITE_BUSY: BooksBusyError,
    sqlite3.SQLITE_LOCKED: BooksBusyError,
    sqlite3.SQLITE_FULL: NoRoomError,
    sqlite3.SQLITE_READONLY: ReadOnlyError,
    sqlite3.SQLITE_CANTOPEN: ReadOnlyError,
    sqlite3.SQLITE_PERM: ReadOnlyError,
}
_SQLITE_DAMAGE = {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB}
_POSTGRESQL = {
    "25006": ReadOnlyError,
    "40001": BooksBusyError,
    "40P01": BooksBusyError,
    "53100": NoRoomError,
    "53300": BooksBusyError,
    "55P03": BooksBusyError,
    "57014": BooksBusyError,
    "57P01": BooksUnreachableError,
    "57P02": BooksUnreachableError,
    "57P03": BooksUnreachableError,
    "58030": DiskFaultError,
}
"""By PostgreSQL's own numbering of errors: its manual, appendix A."""

_POSTGRESQL_DAMAGE = {"XX001", "XX002"}
_DISK = {
    errno.ENOSPC: NoRoomError,
    errno.EDQUOT: NoRoomError,
    errno.EFBIG: NoRoomError,
    errno.EROFS: ReadOnlyError,
    errno.EACCES: ReadOnlyError,
    errno.EPERM: ReadOnlyError,
    errno.EIO: DiskFaultError,
}


def in_words(error: BaseException) -> UpsidesError | None:
    """Return an error of the database or the disk as one of ours; None for one that is a mistake of the program.

    Args:
        error: Django's or the database's own error, or one of the operating system.
    """
    at: BaseException | None = error
    while at is not None:
        if words := _one(at):
            return words
        at = at.__cause__
    return None


def _one(error: BaseException) -> UpsidesError | None:
    if isinstance(error, UpsidesError):
        return error
    if isinstance(error, sqlite3.Error):
        return _of_sqlite(error)
    if isinstance(error, OSError):
        return _DISK[error.errno]() if error.errno in _DISK else None
    if type(error).__module__.partition(".")[0] == "psycopg":
        return _of_postgresql(error)
    return None


def _of_sqlite(error: sqlite3.Error) -> UpsidesError | None:
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF  # what is above these bits says it more finely
    if code in _SQLITE_DAMAGE:
        return BooksDamagedError(error)
    if code == sqlite3.SQLITE_IOERR:
        return NoRoomError() if _no_room() else DiskFaultError()
    return _SQLITE[code]() if code in _SQLITE else None


def _of_postgresql(error: BaseException) -> UpsidesError | None:
    state = getattr(error, "sqlstate", None)
    if state in _POSTGRESQL:
        return _POSTGRESQL[state]()
    if state in _POSTGRESQL_DAMAGE:
        return BooksDamagedError(error)
    lost = type(error).__name__ == "OperationalError" and (state is None or state.startswith("08"))
    return BooksUnreachableError() if lost else None


def _no_room() -> bool:
    """Return whether the disk of the books is full: SQLite says no more than that it could not write."""
    return shutil.disk_usage(settings.UPSIDES_LIBRARY).free < NO_ROOM
