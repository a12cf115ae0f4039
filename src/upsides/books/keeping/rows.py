"""Tables of the books as lines of JSON: the same bytes from SQLite and from PostgreSQL, so that they can be compared.

One row is one object on a line, its keys in order; rows stand in the order of their keys.
"""

import json
from base64 import b64encode
from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from itertools import islice
from typing import Any
from uuid import UUID

from django.apps import apps
from django.db import router
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder
from django.db.models import AutoField, BigAutoField, Field, Model
from django.utils.duration import duration_iso_string

LEFT_OUT = frozenset({"auth", "contenttypes", "sessions", "usersessions"})
"""Applications that are not kept: what the program makes itself, and who is signed in."""

MANY = 1000


def changes_made(at: BaseDatabaseWrapper) -> dict[str, list[str]]:
    """Return the changes to the tables that were made, by application."""
    made: dict[str, list[str]] = {}
    for app, name in MigrationRecorder(at).applied_migrations():
        made.setdefault(app, []).append(name)
    return {app: sorted(names) for app, names in sorted(made.items())}


def unknown_changes(at: BaseDatabaseWrapper, changes: dict[str, list[str]]) -> list[str]:
    """Return the changes that this program does not know: a newer one made them."""
    loader = MigrationLoader(at)
    known = loader.graph.nodes.keys() | (loader.disk_migrations or {}).keys()
    return [f"{app} {name}" for app, names in changes.items() for name in names if (app, name) not in known]


def models_after(at: BaseDatabaseWrapper, changes: dict[str, list[str]]) -> dict[str, type[Model]]:
    """Return the tables as they were after some changes, by name, those that are not kept left out."""
    loader = MigrationLoader(at)
    now = {(app, name) for app, names in changes.items() for name in names} == set(loader.disk_migrations or {})
    nodes = [(app, name) for app, names in changes.items() for name in names if (app, name) in loader.graph.nodes]
    registry = apps if now else loader.project_state(nodes).apps  # to make up how they were takes seconds
    found = {model._meta.label_lower: model for model in registry.get_models(include_auto_created=True) if kept(model)}
    return dict(sorted(found.items()))


def kept(model: type[Model]) -> bool:
    """Return whether a table goes into backups."""
    meta = model._meta
    return (
        meta.managed
        and not meta.proxy
        and meta.app_label not in LEFT_OUT
        and router.allow_migrate_model("default", model)
    )


def numbered(model: type[Model]) -> str | None:
    """Return the column whose numbers the database gives, None where it gives none."""
    key = model._meta.pk
    return key.column if isinstance(key, AutoField | BigAutoField) else None


def written(model: type[Model], alias: str) -> Iterator[bytes]:
    """Yield the rows of a table as lines."""
    names = [field.attname for field in model._meta.concrete_fields]
    rows = model._base_manager.using(alias).order_by("pk").values_list(*names)
    for row in rows.iterator(chunk_size=MANY):
        yield _line({name: _plain(value) for name, value in zip(names, row, strict=True)})


def _line(row: dict[str, Any]) -> bytes:
    return json.dumps(row, sort_keys=True, separators=(",", ":"), allow_nan=False).encode("ascii") + b"\n"


def _plain(value: Any) -> Any:  # noqa: PLR0911 (one return a kind of value)
    """Return a value as JSON has it, written one way only."""
    match value:
        case dict():
            return {key: _plain(item) for key, item in value.items()}
        case list():
            return [_plain(item) for item in value]
        case float():
            return _number(value)
        case datetime():
            return value.astimezone(UTC).isoformat()
        case date() | time():
            return value.isoformat()
        case timedelta():
            return duration_iso_string(value)
        case UUID() | Decimal():
            return str(value)
        case bytes() | memoryview():
            return b64encode(value).decode("ascii")
    return value


def _number(value: float) -> float | int:
    """Return a number as both databases give it back from JSON: without a sign on zero, large ones without a point."""
    if value == 0:
        return 0.0
    return int(value) if abs(value) >= 1e16 and value.is_integer() else value


def load(model: type[Model], lines: Iterable[bytes], at: BaseDatabaseWrapper) -> int:
    """Write lines as rows of a table, and return how many.

    Raises:
        ValueError: a line is no row of this table.
        django.db.Error: the database refuses one.
    """
    fields = {field.attname: field for field in model._meta.concrete_fields}
    quote = at.ops.quote_name
    columns = ", ".join(quote(field.column or name) for name, field in fields.items())
    places = ", ".join(["%s"] * len(fields))
    insert = f"INSERT INTO {quote(model._meta.db_table)} ({columns}) VALUES ({places})"  # noqa: S608 (our own names)
    count, rest = 0, iter(lines)
    with at.cursor() as cursor:
        while some := [_row(line, fields, at) for line in islice(rest, MANY)]:
            cursor.executemany(insert, some)
            count += len(some)
    return count


def _row(line: bytes, fields: "dict[str, Field[Any, Any]]", at: BaseDatabaseWrapper) -> list[Any]:
    row = json.loads(line)
    if not isinstance(row, dict) or row.keys() != fields.keys():
        raise ValueError("a row does not have the columns of its table")
    return [field.get_db_prep_save(field.to_python(row[name]), connection=at) for name, field in fields.items()]
