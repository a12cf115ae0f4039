"""What was changed about a person, by whom and when: read from its history."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from typing import Any

from upsides.books.models import Person, Post, Skill
from upsides.books.queries.moments import Moment
from upsides.books.riding import typed, typed_lb

PRIVATE = frozenset({"login", "email", "phone", "born", "weight_kg", "skill", "claim_lb", "minimum_lb"})
"""Fields whose values are shown only to those who need them."""

_RIDING = ("born", "weight_kg", "skill", "claim_lb", "minimum_lb")
_FIELDS = ("name", "login", "barn", "email", "phone", "is_active", *_RIDING)


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that was changed about a person.

    Args:
        at: when.
        by: who changed it, empty for the program itself.
        what: the field, "entered", "role given", "role taken", or a reason that its history gives.
        old: the value before.
        new: the value after.
    """

    at: datetime
    by: str
    what: str
    old: str = ""
    new: str = ""


def changes(number: int, moment: Moment) -> list[Change]:
    """Return what was changed about a person up to a moment, latest first."""
    rows = _up_to(Person, moment).filter(id=number)
    posts = _up_to(Post, moment).filter(person=number)
    names = dict(Person.objects.values_list("pk", "name"))
    found = [*_of_rows(list(rows), names), *(_of_post(row, names) for row in posts)]
    return sorted(found, key=lambda one: one.at, reverse=True)


def _up_to(model: type[Person] | type[Post], moment: Moment) -> Any:
    rows = model.history.order_by("history_date", "history_id")
    return rows if moment.at is None else rows.filter(history_date__lte=moment.at)


def _of_rows(rows: list[Any], names: dict[int, str]) -> Iterator[Change]:
    """Yield what differs between each row and the one before; a sign-in leaves a row in which nothing does."""
    if rows:
        yield Change(rows[0].history_date, _by(rows[0], names), "entered")
    for before, after in pairwise(rows):
        at, by = after.history_date, _by(after, names)
        if after.history_change_reason:
            yield Change(at, by, after.history_change_reason)
            continue
        for field in _FIELDS:
            old, new = getattr(before, field), getattr(after, field)
            if old != new:
                yield Change(at, by, field, _told(field, old), _told(field, new))


def _told(field: str, value: Any) -> str:
    """Return a value in words: weights as they are typed."""
    if not value:
        return ""
    if field == "weight_kg":
        return typed(value)
    if field == "minimum_lb":
        return typed_lb(value)
    return str(Skill(value).label) if field == "skill" else str(value)


def _of_post(row: Any, names: dict[int, str]) -> Change:
    what = "role taken" if row.history_type == "-" else "role given"
    return Change(row.history_date, _by(row, names), what, new=row.role)


def _by(row: Any, names: dict[int, str]) -> str:
    return names.get(row.history_user_id, "")
