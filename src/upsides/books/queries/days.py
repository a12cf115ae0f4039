"""Days of the yard as spans of time, and what the diary holds of one."""

import json
from collections.abc import Collection, Iterator
from datetime import UTC, date, datetime, time, timedelta
from typing import Any, Final

from django.db.models import CharField, QuerySet, TextField
from django.db.models.functions import Cast

from upsides.books import clock
from upsides.books.models import Entry
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment

QUARTERS: Final = {f"{minute:02}": f"{minute - minute % 15:02}" for minute in range(60)}
"""Minutes of an hour by the quarter that they are in."""


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


def told_in(found: QuerySet[Entry], *names: str) -> Iterator[tuple[int | None, date, list[Any]]]:
    """Yield horse, the yard's day, and some values of each row of the diary, several times as fast as whole rows.

    A year of a yard's diary is read every night. Values and moments stay text: the values of rows that say the same are
    read once, and each quarter of an hour is turned into a day of the yard once, since no zone is off by less. A value
    is text or a number, as the row has it; None where it has none.

    Args:
        found: rows, in the order in which they are to come.
        names: of the values.
    """
    zone, days, told = clock.place().zone, dict[str, date](), dict[str, list[Any]]()
    rows = found.annotate(said=Cast("happened_at", CharField()), text=Cast("values", TextField()))
    for horse, at, text in rows.values_list("horse_id", "said", "text").iterator(chunk_size=5000):
        quarter = at[:14] + QUARTERS[at[14:16]]
        if quarter not in days:
            days[quarter] = datetime.fromisoformat(quarter).replace(tzinfo=UTC).astimezone(zone).date()
        if text not in told:
            values = json.loads(text)
            told[text] = [values.get(name) for name in names]
        yield horse, days[quarter], told[text]


def last_of_each(
    moment: Moment, kind: str, last: date, days: int, horses: Collection[int] | None = None
) -> dict[int, Entry]:
    """Return the last entry of a kind of each horse in the days up to `last`, by number of the horse."""
    found = entries_of(moment, [kind], last - timedelta(days=days - 1), last, horses)
    return {entry.horse_id: entry for entry in found if entry.horse_id is not None}


def moment_on(day: date, at: time) -> datetime:
    """Return a time of day in the yard's zone as a moment."""
    return datetime.combine(day, at, clock.place().zone)
