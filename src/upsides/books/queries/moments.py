"""The moment that a reading looks from: now, or the books as they stood at an earlier time.

As of a moment the diary is cut on `recorded_at`, mutable rows on their history, fits on their data cut-off, results
on the day they were run: a day's results count from the next morning on.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import TypeVar

from django.db.models import Model, Q, QuerySet

from upsides.books import clock
from upsides.books.models import Entry, Horse

M = TypeVar("M", bound=Model)


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment to read from.

    Args:
        day: the yard's day at that moment.
        at: the moment, None for now.
    """

    day: date
    at: datetime | None = None


def now() -> Moment:
    """Return the present."""
    return Moment(clock.today())


def as_of(at: datetime) -> Moment:
    """Return an earlier moment."""
    return Moment(at.astimezone(clock.place().zone).date(), at)


def rows(model: type[M], moment: Moment) -> QuerySet[M]:
    """Return the rows of a mutable table as they stood; for an earlier moment those of its history."""
    if moment.at is None:
        return model._default_manager.all()
    return model.history.as_of(moment.at)  # type: ignore[attr-defined,no-any-return]  # every mutable table has one


def in_training(moment: Moment) -> QuerySet[Horse]:
    """Return the horses that were in training on the moment's day."""
    still = Q(left=None) | Q(left__gt=moment.day)
    return rows(Horse, moment).filter(still, joined__lte=moment.day)


def entries(moment: Moment) -> QuerySet[Entry]:
    """Return the diary's rows that stood: recorded by then, and neither superseded nor withdrawn by then."""
    if moment.at is None:
        return Entry.objects.filter(superseded_by=None, withdrawn=False)
    later = Entry.objects.filter(recorded_at__lte=moment.at, supersedes__isnull=False).values("supersedes")
    return Entry.objects.filter(recorded_at__lte=moment.at, withdrawn=False).exclude(pk__in=later)


def names(model: type[Model], moment: Moment, numbers: Iterable[int]) -> dict[int, str]:
    """Return the names that rows of a table with `name` had, by their numbers."""
    found = rows(model, moment).filter(id__in=set(numbers))  # in a history `pk` is the number of the change
    return dict(found.values_list("id", "name"))
