"""Which horses another has been in contact with, from what the diary and the boxes say: how and when."""

from collections.abc import Collection, Iterator
from datetime import date, timedelta
from typing import Final

from upsides.books import clock
from upsides.books.models import Horse, Stand
from upsides.books.queries import moments
from upsides.books.queries.boxes import all_boxes
from upsides.books.queries.contact_traces import (
    Contact,
    Row,
    Stay,
    Trace,
    box_traces,
    closest,
    row_traces,
    shared,
    stays,
)
from upsides.books.queries.days import entries_of
from upsides.books.queries.given import first_authors
from upsides.books.queries.moments import Moment

DAYS: Final = 14
"""Days that contacts are looked for in; British contact yards of 2017 were shut at least that long."""
READ: Final = ("travel", "exercise", "treatment", "vaccination", "worming", "farrier")
"""Kinds of entries that say what horses shared."""


def contacts(moment: Moment, horse: int, days: int = DAYS) -> list[Contact]:
    """Return the contacts of a horse in the days up to the moment's, as the books have them.

    What two horses share in a closer way is not told again in a looser one of the same sort: who travelled together
    was in the same lorry, and who went out upsides was in the same lot.

    Args:
        moment: when to look from.
        horse: its number.
        days: how many days back, the moment's day the last of them.
    """
    first = moment.day - timedelta(days=days - 1)
    stands = moments.rows(Stand, moment).filter(first_day__lte=moment.day).order_by("horse", "first_day", "id")
    left = dict(moments.rows(Horse, moment).filter(left__lte=moment.day).values_list("id", "left"))
    rows = stands.values_list("horse_id", "box_id", "first_day")
    found = [_until(stay, left.get(stay.horse)) for stay in stays(rows, first, moment.day)]
    walk = [(box.pk, box.barn, box.name) for box in all_boxes(moment)]
    traces = [*box_traces([stay for stay in found if stay.first <= stay.last], walk), *_diary(moment, first)]
    return closest(shared(traces, horse))


def _diary(moment: Moment, first: date) -> Iterator[Trace]:
    zone = clock.place().zone
    fields = ("pk", "kind", "horse_id", "author_id", "supersedes_id", "happened_at", "values")
    rows = list(entries_of(moment, READ, first, moment.day).values_list(*fields))
    mended = first_authors([row[0] for row in rows if row[4] is not None])
    for number, kind, horse, author, _before, at, values in rows:
        if horse is not None:
            on = at.astimezone(zone).date()
            yield from row_traces(Row(number, kind, horse, mended.get(number, author), on, values))


def _until(stay: Stay, left: date | None) -> Stay:
    return stay if left is None else Stay(stay.horse, stay.box, stay.first, min(stay.last, left))


def horses_named(moment: Moment, found: Collection[Contact]) -> dict[int, str]:
    """Return the names of the horses of contacts, by number."""
    names = moments.names(Horse, moment, (one.horse for one in found))
    return {number: name for number, name in names.items() if number is not None}
