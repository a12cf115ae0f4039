"""Entering the diary of an invented yard: rows that its values name by login, source_horse or name become numbers."""

import json
from collections.abc import Mapping
from functools import cache
from typing import Any
from uuid import UUID, uuid5

import polars as pl
from django.db import connection

from upsides.books.diary import kind_of
from upsides.books.diary.fields import Row
from upsides.books.models import Entry, Gallop, Horse, Person

_ENTRIES = UUID("6f0c1f8e-52c5-4c55-9a5d-8b0d7f7a1c11")
_CACHE_KB = -160_000
"""Memory for the database's pages, as SQLite counts it: negative for kilobytes."""
_MOMENTS = ("happened_at", "made_at", "recorded_at")
_COLUMNS = ("client_id", "kind", "horse", "gallop", "author", *_MOMENTS, "values", "supersedes", "withdrawn")
Numbers = Mapping[str, Mapping[str, int]]
"""Numbers of rows by what they are (person, horse, gallop) and what they are called."""


def numbered(
    people: Mapping[str, Person], horses: Mapping[str, Horse], gallops: Mapping[str, Gallop]
) -> dict[str, dict[str, int]]:
    """Return the numbers of the rows that entries may name."""
    rows: dict[str, Mapping[str, Person | Horse | Gallop]] = {"person": people, "horse": horses, "gallop": gallops}
    return {what: {called: row.pk for called, row in known.items()} for what, known in rows.items()}


def enter_diary(diary: pl.DataFrame, numbers: Numbers) -> None:
    """Enter a diary in the order in which it was recorded; as plain rows, because there are very many.

    Args:
        diary: columns of `upsides.demo.yardbooks.Books.diary`.
        numbers: of the rows that it names.
    """
    zone = "" if connection.vendor == "sqlite" else "+00"
    told = diary.sort("recorded_at", "entry").with_columns(_stamp(name, zone) for name in _MOMENTS)
    rows = [
        (
            _client_id(entry),
            kind,
            numbers["horse"][horse] if horse else None,
            numbers["gallop"][gallop] if gallop else None,
            numbers["person"][author],
            happened_at,
            made_at,
            recorded_at,
            json.dumps(kept_values(kind, values, numbers)) if _rows_named(kind) else values,
            _client_id(supersedes) if supersedes else None,
            False,
        )
        for (
            entry,
            kind,
            horse,
            gallop,
            author,
            happened_at,
            made_at,
            recorded_at,
            values,
            supersedes,
        ) in told.iter_rows()
    ]
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":  # or pages that do not fit are written again and again
            cursor.execute(f"PRAGMA cache_size = {_CACHE_KB}")
        cursor.executemany(_statement(), rows)


def _statement() -> str:
    """Return the statement that adds one entry; the one that it corrects is found by its `client_id`."""
    name, meta = connection.ops.quote_name, Entry._meta
    columns = [name(str(meta.get_field(field).column)) for field in _COLUMNS]  # type: ignore[union-attr]  # no relation back
    corrected = f"(SELECT {name('id')} FROM {name(meta.db_table)} WHERE {name('client_id')} = %s)"  # noqa: S608 (names)
    places = [corrected if field == "supersedes" else "%s" for field in _COLUMNS]
    return f"INSERT INTO {name(meta.db_table)} ({', '.join(columns)}) VALUES ({', '.join(places)})"  # noqa: S608 (the same)


def _client_id(entry: int) -> str:
    return uuid5(_ENTRIES, str(entry)).hex


def _stamp(name: str, zone: str) -> pl.Expr:
    """Return a moment in the words that the database has for it, as Django writes them: with no fraction of nought."""
    return pl.col(name).dt.strftime("%Y-%m-%d %H:%M:%S%.6f").str.replace(".000000", "", literal=True) + zone


def kept_values(kind: str, text: str, numbers: Numbers) -> dict[str, Any]:
    """Return an entry's values as the books keep them, the rows that they name by their numbers."""
    values: dict[str, Any] = json.loads(text)
    for name, what, many in _rows_named(kind):
        if name in values:
            called = values[name]
            values[name] = [numbers[what][one] for one in called] if many else numbers[what][called]
    return values


@cache
def _rows_named(kind: str) -> tuple[tuple[str, str, bool], ...]:
    """Return the fields of a kind that name rows: name, what they name, whether they name several."""
    fields = (field for field in kind_of(kind).fields if isinstance(field, Row))
    return tuple((field.name, field.of, field.many) for field in fields)
