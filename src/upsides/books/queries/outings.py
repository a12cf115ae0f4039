"""What horses did by their recordings: of a day, of a horse."""

from dataclasses import dataclass
from datetime import date

from django.db.models import QuerySet

from upsides.books.models import Horse, Outing
from upsides.books.outings import read
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment
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


def _told(moment: Moment, found: QuerySet[Outing]) -> list[Done]:
    rows = list(found.select_related("recorded", "recorded__tracker").order_by("began", "pk"))
    names = moments.names(Horse, moment, (row.horse_id for row in rows))
    return [Done(row, names.get(row.horse_id, ""), read(row.measured)) for row in rows]
