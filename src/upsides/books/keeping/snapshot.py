"""The books standing still: a second connection that reads them as they were at one moment while others write."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import cast

from django.db import connection, connections, transaction
from django.db.backends.base.base import BaseDatabaseWrapper

ALIAS = "standing_still"


@contextmanager
def standing_still() -> Iterator[BaseDatabaseWrapper]:
    """Give a connection, known to Django as `ALIAS`, that sees one moment and cannot write.

    SQLite: a transaction that only reads; the write-ahead log keeps for it what others change meanwhile.
    PostgreSQL: REPEATABLE READ, READ ONLY.
    """
    still = connection.copy(ALIAS)
    options = still.settings_dict["OPTIONS"]
    if still.vendor == "sqlite":
        options |= {"transaction_mode": "DEFERRED", "init_command": "PRAGMA query_only=ON"}
    else:
        from psycopg import IsolationLevel

        options["isolation_level"] = IsolationLevel.REPEATABLE_READ
    connections[ALIAS] = still
    try:
        with transaction.atomic(using=ALIAS):
            _take_the_moment(still)
            yield still
    finally:
        still.close()
        del connections[ALIAS]


def _take_the_moment(still: BaseDatabaseWrapper) -> None:
    """Read something: what is seen from here on is what stood then."""
    with still.cursor() as cursor:
        if still.vendor == "postgresql":
            cursor.execute("SET TRANSACTION READ ONLY")
            cursor.execute("SELECT 1")
        else:
            cursor.execute("SELECT count(*) FROM sqlite_master")
        cursor.fetchone()


def last_number(at: BaseDatabaseWrapper, table: str, column: str) -> int | None:
    """Return the last number that was given to a row of a table, None where none was.

    A number is not given again after its row has gone, for the history may still speak of it.
    """
    with at.cursor() as cursor:
        if at.vendor == "sqlite":
            cursor.execute("SELECT seq FROM sqlite_sequence WHERE name = %s", [table])
        else:
            cursor.execute("SELECT pg_get_serial_sequence(%s, %s)", [at.ops.quote_name(table), column])
            (sequence,) = cursor.fetchone()
            if sequence is None:
                return None
            cursor.execute(f"SELECT last_value FROM {sequence} WHERE is_called")  # noqa: S608 (PostgreSQL quoted it)
        found = cursor.fetchone()
    return cast("int", found[0]) or None if found else None


def set_last_number(at: BaseDatabaseWrapper, table: str, column: str, number: int) -> None:
    """Let the next row of a table get the number after `number`."""
    with at.cursor() as cursor:
        if at.vendor == "sqlite":
            cursor.execute("DELETE FROM sqlite_sequence WHERE name = %s", [table])
            cursor.execute("INSERT INTO sqlite_sequence (name, seq) VALUES (%s, %s)", [table, number])
        else:
            name = at.ops.quote_name(table)
            cursor.execute("SELECT setval(pg_get_serial_sequence(%s, %s), %s)", [name, column, number])
