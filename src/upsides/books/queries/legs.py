"""What was found on a horse's legs lately: felt, seen, graded; and when they were felt and as usual."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from upsides.books.diary import Kind, kind_of
from upsides.books.diary.legs import Leg, LegsFelt, NotRight, Shoe
from upsides.books.diary.vet import Lameness
from upsides.books.queries import moments
from upsides.books.queries.days import day_span, entries_of
from upsides.books.queries.diary import Written, open_to, written
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import Visitor

KINDS: Final = (Leg.name, LegsFelt.name, Lameness.name, NotRight.name, Shoe.name)
"""Kinds of entries about legs."""
WEEKS: Final = 4
"""How far back a page of legs looks."""


@dataclass(frozen=True, slots=True)
class Said:
    """One entry about legs.

    Args:
        entry: the entry, ready to be read.
        kind: what it holds.
        days: how many days ago it was so.
    """

    entry: Written
    kind: Kind
    days: int

    @property
    def limb(self) -> str:
        """Return the limb that it is about, empty where it names none."""
        return getattr(self.kind, "limb", None) or ""

    @property
    def day(self) -> date:
        """Return the day on which it was so."""
        return self.entry.happened.date()


def legs_of(number: int, moment: Moment, reader: Visitor) -> list[Said]:
    """Return what stands about a horse's legs from the last four weeks, the latest first."""
    first = moment.day - timedelta(weeks=WEEKS) + timedelta(days=1)
    rows = open_to(reader, entries_of(moment, KINDS, first, moment.day, [number]).select_related("author"))
    told = written(list(rows)[::-1], moment, reader)
    return [
        Said(one, kind_of(one.entry.kind).kept_as(one.entry.values), (moment.day - one.happened.date()).days)
        for one in told
    ]


def last_before(number: int, moment: Moment, found: Sequence[Said]) -> date | None:
    """Return the day of the last entry about a horse's legs where the last weeks have none; None for none at all."""
    if found:
        return None
    end = day_span(moment.day)[1]
    rows = moments.entries(moment).filter(kind__in=KINDS, horse=number, happened_at__lte=end).order_by("-happened_at")
    last = written(rows[:1], moment)
    return last[0].happened.date() if last else None
