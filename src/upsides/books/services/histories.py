"""Rows entered many at once, with the start of their history."""

from collections.abc import Callable, Collection, Sequence
from datetime import UTC, date, datetime, time
from typing import TypeVar

from django.db.models import Model

M = TypeVar("M", bound=Model)

MANY = 500


def enter(rows: Sequence[M], since: Callable[[M], date]) -> list[M]:
    """Write new rows of one mutable table, each with a history that begins on its own day.

    Args:
        rows: rows without numbers.
        since: the day from which a row is known.

    Returns:
        The same rows, with their numbers.
    """
    return _entered(rows, lambda row: _morning(since(row)))


def enter_at(rows: Sequence[M], at: datetime) -> list[M]:
    """Write new rows of one mutable table, known from one moment on; return them with their numbers."""
    return _entered(rows, lambda _: at)


def change_at(rows: Sequence[M], fields: Collection[str], at: datetime) -> None:
    """Write changed rows of one mutable table, and remember each as it is from one moment on.

    Args:
        rows: as they shall stand.
        fields: what differs in any of them.
        at: the moment.
    """
    if rows:
        manager, change = type(rows[0])._default_manager, list(fields)
        manager.bulk_create(rows, MANY, update_conflicts=True, unique_fields=["id"], update_fields=change)
        _remember(rows, "~", lambda _: at)


def _entered(rows: Sequence[M], since: Callable[[M], datetime]) -> list[M]:
    if not rows:
        return []
    made = type(rows[0])._default_manager.bulk_create(rows, batch_size=MANY)
    _remember(made, "+", since)
    return made


def _remember(rows: Sequence[M], kind: str, since: Callable[[M], datetime]) -> None:
    """Write each row's history as it stands now: "+" for a new one, "~" for a change."""
    past = type(rows[0]).history.model  # type: ignore[attr-defined]  # every mutable table has one
    fields = [field.attname for field in past.tracked_fields]
    told = [
        past(**{name: getattr(row, name) for name in fields}, history_type=kind, history_date=since(row))
        for row in rows
    ]
    past.objects.bulk_create(told, batch_size=MANY)


def _morning(day: date) -> datetime:
    return datetime.combine(day, time(), UTC)
