"""Rows entered many at once, with the start of their history."""

from collections.abc import Callable, Collection, Mapping, Sequence
from datetime import UTC, date, datetime, time
from typing import Any, TypeVar

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


def become(told: Sequence[tuple[M, date, Mapping[str, Any]]]) -> None:
    """Let rows of one mutable table become otherwise, each as of its own day.

    Args:
        told: row, day, and the fields that have another value from then on; a row may come again on a later day only.
    """
    told = sorted(told, key=lambda one: one[1])
    while told:
        now = {row.pk: (row, day, fields) for row, day, fields in reversed(told)}
        for row, _, fields in now.values():
            for name, value in fields.items():
                setattr(row, name, value)
        rows = [row for row, _, _ in now.values()]
        manager = type(rows[0])._default_manager
        manager.bulk_update(rows, sorted({name for _, _, fields in now.values() for name in fields}), batch_size=MANY)
        _remember(rows, "~", _since({number: day for number, (_, day, _) in now.items()}))
        told = [one for one in told if now[one[0].pk][2] is not one[2]]


def _since(days: Mapping[Any, date]) -> Callable[[Model], datetime]:
    return lambda row: _morning(days[row.pk])


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
