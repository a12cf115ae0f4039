"""Days of the yard as spans of time, and what the diary holds of one."""

from collections.abc import Collection
from datetime import date, datetime, time, timedelta

from django.db.models import QuerySet

from upsides.books import clock
from upsides.books.models import Entry
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment


def day_span(day: date, days: int = 1) -> tuple[datetime, datetime]:
    """Return the first moment of a day in the yard's zone and the last of the days from it on.

    Args:
        day: the first day.
        days: how many.
    """
    zone = clock.place().zone
    end = datetime.combine(day + timedelta(days=days), time(), zone)
    return datetime.combine(day, time(), zone), end - timedelta(microseconds=1)


def entries_of(
    moment: Moment, kinds: Collection[str], first: date, last: date, horses: Collection[int] | None = None
) -> QuerySet[Entry]:
    """Return what stood of some kinds, from `first` to `last`, both included, in the order in which it was so."""
    span = day_span(first, (last - first).days + 1)
    found = moments.entries(moment).filter(kind__in=kinds, happened_at__range=span).order_by("happened_at", "pk")
    return found if horses is None else found.filter(horse__in=horses)


def last_of_each(
    moment: Moment, kind: str, last: date, days: int, horses: Collection[int] | None = None
) -> dict[int, Entry]:
    """Return the last entry of a kind of each horse in the days up to `last`, by number of the horse."""
    found = entries_of(moment, [kind], last - timedelta(days=days - 1), last, horses)
    return {entry.horse_id: entry for entry in found if entry.horse_id is not None}


def moment_on(day: date, at: time) -> datetime:
    """Return a time of day in the yard's zone as a moment."""
    return datetime.combine(day, at, clock.place().zone)
