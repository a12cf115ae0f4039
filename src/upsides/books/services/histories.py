"""Rows entered many at once, with the start of their history."""

from collections.abc import Callable, Sequence
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
    if not rows:
        return []
    model = type(rows[0])
    made = model._default_manager.bulk_create(rows, batch_size=MANY)
    past = model.history.model  # type: ignore[attr-defined]  # every mutable table has one
    fields = [field.attname for field in past.tracked_fields]
    began = [
        past(**{name: getattr(row, name) for name in fields}, history_type="+", history_date=_morning(since(row)))
        for row in made
    ]
    past.objects.bulk_create(began, batch_size=MANY)
    return made


def _morning(day: date) -> datetime:
    return datetime.combine(day, time(), UTC)
