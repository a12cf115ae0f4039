"""Reads of sales and of their lots, as they stood at a moment."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.db.models import Count

from upsides.books.models import Lot, LotNote, Mark, Sale
from upsides.books.queries import moments
from upsides.books.queries.finding import folded
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import Visitor


@dataclass(frozen=True, slots=True)
class Counted:
    """A sale with what there is of it.

    Args:
        sale: its row.
        lots: lots in its list.
        removed: lots that an earlier list had.
        shortlisted: lots on the shortlist, those removed included.
    """

    sale: Sale
    lots: int
    removed: int
    shortlisted: int


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which lots of a sale are looked for; what is empty does not matter.

    Args:
        words: each stands somewhere in the lot's number, name, sire, dam or dam's sire.
        sire: the sire's name as the list has it.
        sex: a value of `Horse.Sex`.
        shortlisted: "yes" or "no".
    """

    words: str = ""
    sire: str = ""
    sex: str = ""
    shortlisted: str = ""


@dataclass(frozen=True, slots=True)
class SaleLots:
    """The lots of one sale.

    Args:
        sale: its row.
        lots: all of them, in the order of their numbers; removed ones too.
        found: those that were looked for.
        marks: the last mark of each lot on the shortlist, by the lot's number in the books.
        vetted: lots of which a note of a vetting stands, by the same number.
    """

    sale: Sale
    lots: Sequence[Lot]
    found: Sequence[Lot]
    marks: Mapping[int, Mark]
    vetted: frozenset[int]


def private(who: Visitor) -> bool:
    """Return whether shortlist and notes are open here: never on a barn phone, which lies about."""
    return not who.barn


def sales(who: Visitor, moment: Moment) -> list[Counted]:
    """Return every sale, the latest first."""
    return counted(moment, _shortlist(moment) if private(who) else {})


def every_sale(moment: Moment) -> list[Counted]:
    """Return every sale, the latest first, for somebody at the yard's own computer."""
    return counted(moment, _shortlist(moment))


def counted(moment: Moment, chosen: Mapping[int, Mark]) -> list[Counted]:
    """Return every sale with what there is of it; `chosen` holds marks of the shortlist by the lot's number."""
    rows = moments.rows(Lot, moment).order_by().values_list("sale", "removed").annotate(Count("id"))
    count = {(sale, removed): number for sale, removed, number in rows}
    on = dict(moments.rows(Lot, moment).filter(id__in=chosen).order_by().values_list("sale").annotate(Count("id")))
    found = [
        Counted(sale, count.get((sale.pk, False), 0), count.get((sale.pk, True), 0), on.get(sale.pk, 0))
        for sale in moments.rows(Sale, moment)
    ]
    return sorted(found, key=_latest)


def _latest(one: Counted) -> tuple[int, int, str]:
    day = one.sale.day
    return -one.sale.year, -day.toordinal() if day else 0, one.sale.name


def sale_lots(who: Visitor, moment: Moment, number: int, wanted: Wanted) -> SaleLots | None:
    """Return the lots of one sale, None where there is none of that number."""
    sale = moments.rows(Sale, moment).filter(id=number).first()
    if sale is None:
        return None
    lots = sorted(moments.rows(Lot, moment).filter(sale=number), key=in_order)
    here = {lot.pk for lot in lots}
    marks = {lot: mark for lot, mark in _shortlist(moment).items() if lot in here} if private(who) else {}
    notes = moments.standing(LotNote, moment).filter(lot__in=list(marks), kind=LotNote.Kind.VETTING)
    vetted = frozenset(notes.values_list("lot", flat=True))
    found = [lot for lot in lots if _is(lot, wanted, on=lot.pk in marks)]
    return SaleLots(sale, lots, found, marks, vetted)


def in_order(lot: Lot) -> tuple[int, str]:
    """Return where a lot stands in its sale: 12, 12A, 13, and what has no figures at the end."""
    parts = re.fullmatch(r"([0-9]+)(.*)", lot.number)
    return (int(parts[1]), parts[2]) if parts else (10**20, lot.number)


def _is(lot: Lot, wanted: Wanted, *, on: bool) -> bool:
    if wanted.sire not in {"", lot.sire} or wanted.sex not in {"", lot.sex}:
        return False
    if wanted.shortlisted not in {"", "yes" if on else "no"}:
        return False
    words = folded(wanted.words).split()
    names = folded(f"{lot.number}\n{lot.name}\n{lot.sire}\n{lot.dam}\n{lot.dam_sire}") if words else ""
    return all(word in names for word in words)


def _shortlist(moment: Moment) -> dict[int, Mark]:
    """Return the last mark of every lot that is on the shortlist, by the lot's number."""
    marks = Mark.objects.order_by("pk")
    last = {mark.lot_id: mark for mark in (marks if moment.at is None else marks.filter(recorded_at__lte=moment.at))}
    return {number: mark for number, mark in last.items() if mark.on}
