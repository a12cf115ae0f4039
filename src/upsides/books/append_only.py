"""The diary's table refuses change: triggers in the database, whatever program speaks to it.

Django rebuilds SQLite tables when it migrates them, which drops their triggers; so they are made anew after every
migration.
"""

from typing import Any, Final

from django.db import connections, transaction
from django.db.backends.base.base import BaseDatabaseWrapper

TABLE: Final = "books_entry"
REFUSAL: Final = "entries of the diary are never changed or removed: correct or withdraw them by a new one"

_SQLITE: Final = {
    "diary_keeps_values": f"BEFORE UPDATE ON {TABLE}",
    "diary_keeps_rows": f"BEFORE DELETE ON {TABLE}",
    "diary_takes_no_replacement": (  # INSERT OR REPLACE removes the old row without a word to the other two
        f"BEFORE INSERT ON {TABLE} WHEN EXISTS (SELECT 1 FROM {TABLE} WHERE id = NEW.id OR client_id = NEW.client_id)"  # noqa: S608 (our own name)
    ),
}
_POSTGRESQL: Final = (
    f"""CREATE OR REPLACE FUNCTION diary_keeps() RETURNS trigger LANGUAGE plpgsql AS $$
    BEGIN RAISE EXCEPTION '{REFUSAL}' USING ERRCODE = 'integrity_constraint_violation'; END $$""",
    f"DROP TRIGGER IF EXISTS diary_keeps_rows ON {TABLE}",
    f"""CREATE TRIGGER diary_keeps_rows BEFORE UPDATE OR DELETE ON {TABLE}
    FOR EACH ROW EXECUTE FUNCTION diary_keeps()""",
    f"DROP TRIGGER IF EXISTS diary_keeps_table ON {TABLE}",
    f"""CREATE TRIGGER diary_keeps_table BEFORE TRUNCATE ON {TABLE}
    FOR EACH STATEMENT EXECUTE FUNCTION diary_keeps()""",
)


def after_migrate(using: str, **_: Any) -> None:
    """Make the triggers in a database that was just migrated; without the table there is nothing to do."""
    connection = connections[using]
    if TABLE in connection.introspection.table_names():
        refuse_change(connection)


def refuse_change(connection: BaseDatabaseWrapper) -> None:
    """Make the triggers, in place of those that stand.

    From then on an UPDATE, DELETE, TRUNCATE or REPLACE of an entry is a `django.db.IntegrityError` that says `REFUSAL`.
    """
    with transaction.atomic(using=connection.alias), connection.cursor() as cursor:
        for statement in _sqlite() if connection.vendor == "sqlite" else _POSTGRESQL:
            cursor.execute(statement)


def _sqlite() -> tuple[str, ...]:
    return tuple(
        statement
        for name, when in _SQLITE.items()
        for statement in (
            f"DROP TRIGGER IF EXISTS {name}",
            f"CREATE TRIGGER {name} {when} BEGIN SELECT RAISE(ABORT, '{REFUSAL}'); END",
        )
    )
