"""Tables that refuse change: triggers in the database, whatever program speaks to it.

Django rebuilds SQLite tables when it migrates them, which drops their triggers; so they are made anew after every
migration.
"""

from dataclasses import dataclass
from typing import Any, Final

from django.db import connections, transaction
from django.db.backends.base.base import BaseDatabaseWrapper


@dataclass(frozen=True, slots=True)
class Kept:
    """A table whose rows are never changed or removed.

    Args:
        table: its name.
        prefix: what the names of its triggers begin with.
        keys: columns of which no two rows have the same.
        refusal: what is said instead of changing a row.
    """

    table: str
    prefix: str
    keys: tuple[str, ...]
    refusal: str


REFUSAL: Final = "entries of the diary are never changed or removed: correct or withdraw them by a new one"
TABLES: Final = (
    Kept("books_entry", "diary", ("id", "client_id"), REFUSAL),
    Kept("books_mark", "marks", ("id",), "marks of the shortlist are never changed or removed: set a new one"),
    Kept(
        "books_lotnote",
        "lot_notes",
        ("id", "client_id"),
        "notes about lots are never changed or removed: correct or withdraw them by a new one",
    ),
    Kept("books_recorded", "recordings", ("id",), "recordings are never changed or removed"),
    Kept(
        "books_outing",
        "outings",
        ("id",),
        "outings are never changed or removed: correct or withdraw them by a new one",
    ),
    Kept(
        "books_setaside",
        "aside",
        ("id",),
        "what was said of recordings of no horse is never changed or removed: say it anew",
    ),
    Kept(
        "books_call",
        "calls",
        ("id", "client_id"),
        "calls are never changed or removed: take one back by a new row",
    ),
    Kept(
        "books_decision",
        "decisions",
        ("id", "client_id"),
        "decisions about races are never changed or removed: a later one stands beside them",
    ),
    Kept("books_letgo", "let_go", ("id",), "races let go are never changed or removed: a later row stands beside them"),
    Kept("books_answer", "answers", ("id",), "answers are never changed or removed: a later one stands beside them"),
)

_FUNCTION: Final = """CREATE OR REPLACE FUNCTION diary_keeps() RETURNS trigger LANGUAGE plpgsql AS $$
    BEGIN RAISE EXCEPTION '%', TG_ARGV[0] USING ERRCODE = 'integrity_constraint_violation'; END $$"""


def after_migrate(using: str, **_: Any) -> None:
    """Make the triggers in a database that was just migrated; for a table that is not there nothing is done."""
    refuse_change(connections[using])


def refuse_change(connection: BaseDatabaseWrapper) -> None:
    """Make the triggers, in place of those that stand.

    From then on an UPDATE, DELETE, TRUNCATE or REPLACE of a row is a `django.db.IntegrityError` that says the table's
    `refusal`.
    """
    there = connection.introspection.table_names()
    sqlite = connection.vendor == "sqlite"
    with transaction.atomic(using=connection.alias), connection.cursor() as cursor:
        if not sqlite:
            cursor.execute(_FUNCTION)
        for kept in TABLES:
            if kept.table in there:
                for statement in _sqlite(kept) if sqlite else _postgresql(kept):
                    cursor.execute(statement)


def _sqlite(kept: Kept) -> tuple[str, ...]:
    same = " OR ".join(f"{key} = NEW.{key}" for key in kept.keys)
    when = {
        f"{kept.prefix}_keeps_values": f"BEFORE UPDATE ON {kept.table}",
        f"{kept.prefix}_keeps_rows": f"BEFORE DELETE ON {kept.table}",
        # INSERT OR REPLACE removes the old row without a word to the other two
        f"{kept.prefix}_takes_no_replacement": (
            f"BEFORE INSERT ON {kept.table} WHEN EXISTS (SELECT 1 FROM {kept.table} WHERE {same})"  # noqa: S608 (our own names)
        ),
    }
    return tuple(
        statement
        for name, on in when.items()
        for statement in (
            f"DROP TRIGGER IF EXISTS {name}",
            f"CREATE TRIGGER {name} {on} BEGIN SELECT RAISE(ABORT, '{kept.refusal}'); END",
        )
    )


def _postgresql(kept: Kept) -> tuple[str, ...]:
    call = f"EXECUTE FUNCTION diary_keeps('{kept.refusal}')"
    rows, table = f"{kept.prefix}_keeps_rows", f"{kept.prefix}_keeps_table"
    return (
        f"DROP TRIGGER IF EXISTS {rows} ON {kept.table}",
        f"CREATE TRIGGER {rows} BEFORE UPDATE OR DELETE ON {kept.table} FOR EACH ROW {call}",
        f"DROP TRIGGER IF EXISTS {table} ON {kept.table}",
        f"CREATE TRIGGER {table} BEFORE TRUNCATE ON {kept.table} FOR EACH STATEMENT {call}",
    )
