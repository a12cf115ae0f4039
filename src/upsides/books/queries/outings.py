"""What horses did by their recordings: of a day, of a horse."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import QuerySet

from upsides.books.models import Horse, Outing
from upsides.books.outings import read
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment
from upsides.books.queries.stretches import Span, joined, same_time, span_of
from upsides.recordings.measured import Measured


@dataclass(frozen=True, slots=True)
class Done:
    """An outing.

    Args:
        outing: its row, with its recording's.
        horse: the name of its horse.
        measured: what was measured.
    """

    outing: Outing
    horse: str
    measured: Measured


def on_day(moment: Moment, day: date) -> list[Done]:
    """Return the outings of a day, in the order in which they began."""
    return _told(moment, moments.standing(Outing, moment).filter(day=day))


def of_horse(moment: Moment, horse: int, first: date, last: date) -> list[Done]:
    """Return the outings of a horse from one day to another, both included, in the order in which they began."""
    return _told(moment, moments.standing(Outing, moment).filter(horse=horse, day__range=(first, last)))


def once_each(outings: Iterable[Done]) -> list[Done]:
    """Return outings, of two of one horse by recordings of the same time that which shows more."""
    found: list[tuple[Done, list[Span]]] = []
    for done in sorted(outings, key=lambda one: one.outing.metres, reverse=True):
        times = joined([span_of(bout.start_s, bout.seconds) for bout in done.measured.bouts])
        if not any(
            other.outing.horse_id == done.outing.horse_id and same_time(times, spans) for other, spans in found if spans
        ):
            found.append((done, times))
    return sorted((done for done, _times in found), key=lambda one: (one.outing.began, one.outing.pk))


def _told(moment: Moment, found: QuerySet[Outing]) -> list[Done]:
    rows = list(found.select_related("recorded", "recorded__tracker").order_by("began", "pk"))
    names = moments.names(Horse, moment, (row.horse_id for row in rows))
    return [Done(row, names.get(row.horse_id, ""), read(row.measured)) for row in rows]
