"""Changing a row that somebody else may have changed since the page was loaded: nothing is lost in silence.

A page carries the number of the change that it showed. What the visitor altered since then is kept; what another
altered in other fields meanwhile stays; where both altered the same field to different values nothing is written.
"""

from collections.abc import Mapping, Sequence
from typing import Any, TypeVar

from django.db.models import Max

from upsides.books.models import Person
from upsides.books.models.remembered import Remembered
from upsides.errors import ChangedMeanwhileError, LineGoneError

R = TypeVar("R", bound=Remembered)


def held(model: type[R], number: int) -> R:
    """Return a row, held until the transaction ends.

    Raises:
        LineGoneError: it is not there any more.
    """
    row = model._default_manager.select_for_update().filter(pk=number).first()
    if row is None:
        raise LineGoneError(str(model._meta.verbose_name), number)
    return row


def last_change(row: Remembered) -> int:
    """Return the number of a row's last change, which a page carries; 0 for one that nobody ever remembered."""
    last = _changes(row).order_by("-history_id").values_list("history_id", flat=True).first()
    return int(last or 0)


def last_changes(rows: Sequence[R]) -> dict[int, int]:
    """Return the number of the last change of each of some rows of one table, by their numbers."""
    if not rows:
        return {}
    changes = type(rows[0]).history.filter(id__in=[row.pk for row in rows])  # type: ignore[attr-defined]  # see _changes
    return dict(changes.order_by().values_list("id").annotate(last=Max("history_id")))


def merge(row: Remembered, seen: int, typed: Mapping[str, Any]) -> frozenset[str]:
    """Set on a held row what was altered since the change that the page showed; it is not saved.

    Args:
        row: as it stands.
        seen: number of the change that the page showed.
        typed: every field of the page by its name in the table, with its value.

    Returns:
        The fields that differ from what stood.

    Raises:
        ChangedMeanwhileError: somebody else altered the same fields to other values.
    """
    shown = _changes(row).filter(history_id=seen).first()
    if shown is None:
        raise ChangedMeanwhileError((), _by(row))
    mine = {field: value for field, value in typed.items() if value != getattr(shown, field)}
    now = {field: getattr(row, field) for field in mine}
    both = [field for field in mine if now[field] not in (getattr(shown, field), mine[field])]
    if both:
        raise ChangedMeanwhileError([field.removesuffix("_id").replace("_", " ") for field in both], _by(row))
    for field, value in mine.items():
        setattr(row, field, value)
    return frozenset(field for field in mine if now[field] != mine[field])


def unchanged(row: Remembered, seen: int) -> None:
    """Refuse to go on where a held row was changed since the page was loaded.

    Raises:
        ChangedMeanwhileError: it was.
    """
    if last_change(row) != seen:
        raise ChangedMeanwhileError((), _by(row))


def save(row: Remembered, by: Person | None) -> None:
    """Write a row, remembering who did it."""
    row._history_user = by  # type: ignore[attr-defined]  # simple_history reads it
    row.save()


def delete(row: Remembered, by: Person | None) -> None:
    """Take a row out; its history stays."""
    row._history_user = by  # type: ignore[attr-defined]  # simple_history reads it
    row.delete()


def _changes(row: Remembered) -> Any:
    return type(row).history.filter(id=row.pk)  # type: ignore[attr-defined]  # every such table has one


def _by(row: Remembered) -> str:
    last = _changes(row).order_by("-history_id").first()
    person = Person.objects.filter(pk=last.history_user_id).first() if last and last.history_user_id else None
    return person.name if person else ""
