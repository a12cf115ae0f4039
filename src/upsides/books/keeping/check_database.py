"""Whether the database as such is well: its file, its links, its tables and the numbers it gives."""

from collections.abc import Iterator

from django.apps import apps
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.db.models import Exists, ForeignKey, Model, OuterRef

from upsides.books.keeping.findings import BRING_BACK, Finding, told
from upsides.books.keeping.rows import changes_made, kept, numbered, unknown_changes
from upsides.books.keeping.snapshot import last_number

ONE_ROW = "books.yard"
"""The table whose only row is always number 1."""


def of_database() -> Iterator[Finding]:
    """Ask the database whether its own structure is whole, and look for rows that name others which are not there."""
    wrong = _asked("PRAGMA integrity_check(20)") if connection.vendor == "sqlite" else _postgresql()
    yield told("database", [] if wrong == ["ok"] else wrong, "The database is whole.", BRING_BACK)
    if connection.vendor == "sqlite":
        links = [f"{table} row {row} names a row of {other} that is not there" for table, row, other, _ in _broken()]
    else:
        links = list(_orphans())
    yield told("links", links, "Every row that names another finds it.", BRING_BACK)


def _asked(question: str) -> list[str]:
    with connection.cursor() as cursor:
        cursor.execute(question)
        return [str(row[0]) for row in cursor.fetchall()]


def _broken() -> list[tuple[str, int, str, int]]:
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA foreign_key_check")
        return [tuple(row) for row in cursor.fetchall()]


def _postgresql() -> list[str]:
    """Return constraints that were never tried on all rows, and indexes that were not built to their end."""
    unsure = _asked("SELECT conrelid::regclass || ' ' || conname FROM pg_constraint WHERE NOT convalidated")
    broken = _asked("SELECT indexrelid::regclass::text FROM pg_index WHERE NOT indisvalid")
    return [f"the constraint {name} was not tried on all rows" for name in unsure] + [
        f"the index {name} is not whole" for name in broken
    ]


def _orphans() -> Iterator[str]:
    for model in kept_models():
        for field in model._meta.concrete_fields:
            if isinstance(field, ForeignKey) and getattr(field, "db_constraint", False):
                there = field.remote_field.model._base_manager.filter(
                    **{field.target_field.name: OuterRef(field.attname)}
                )
                lost = model._base_manager.filter(~Exists(there), **{f"{field.name}__isnull": False})
                for number in lost.values_list("pk", flat=True)[:20]:
                    yield f"{model._meta.db_table} row {number} names a row of {field.name} that is not there"


def kept_models() -> list[type[Model]]:
    """Return the models of the tables that are kept."""
    found = (model for model in apps.get_models(include_auto_created=True) if kept(model))
    return sorted(found, key=lambda model: model._meta.label_lower)


def of_changes() -> Iterator[Finding]:
    """Compare the tables' changes and the books' format with those that this program knows."""
    newer = unknown_changes(connection, changes_made(connection))
    if newer:
        words = f"A newer Upsides wrote these books: they hold the change {newer[0]}. Use that program, or newer."
        yield Finding("changes", False, words)
        return
    executor = MigrationExecutor(connection)
    waiting = executor.migration_plan(executor.loader.graph.leaf_nodes())
    if waiting:
        words = (
            f"The tables are of an earlier Upsides; {len(waiting)} changes wait. Start upsides serve: it makes them."
        )
        yield Finding("changes", False, words)
        return
    yield Finding("changes", True, "The tables are those of this program.")
    yield from _format()


def _format() -> Iterator[Finding]:
    from upsides.books.models import Yard
    from upsides.books.models.yard import FORMAT

    written = Yard.objects.values_list("format_version", flat=True).first()
    if written is None:
        yield Finding("format", True, "There is no yard yet. Begin: upsides new.")
    elif written > FORMAT:
        words = f"The books have format {written}, and this program reads {FORMAT} at most. Use the newer program."
        yield Finding("format", False, words)
    else:
        yield Finding("format", True, f"The books have format {written}, which this program writes.")


def of_numbers() -> Iterator[Finding]:
    """See that no table would give a number that is taken."""
    wrong = []
    for model in kept_models():
        column = numbered(model)
        if column and model._meta.label_lower != ONE_ROW:
            highest = model._base_manager.order_by("-pk").values_list("pk", flat=True).first() or 0
            if highest > (last_number(connection, model._meta.db_table, column) or 0):
                wrong.append(f"the next row of {model._meta.db_table} would get a number that is taken")
    yield told("numbers", wrong, "New rows get numbers that were never given.", "Restore a backup: it sets them right.")
