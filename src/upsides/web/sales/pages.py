"""What the pages of sales and lots show."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from uuid import uuid4

from django.conf import settings
from django.http import Http404
from django.utils.functional import Promise
from django.utils.translation import gettext as _

from upsides.books.models import Lot, Mark
from upsides.books.queries import kin as kinsfolk
from upsides.books.queries import lot as reads
from upsides.books.queries.lot import Said
from upsides.books.queries.sales import SaleLots
from upsides.books.queries.visitors import Visitor
from upsides.books.services.lot_notes import MENDERS
from upsides.web.sales import sentences
from upsides.web.sales.asking import A_PAGE, Asked
from upsides.web.sales.forms import NoteForm, ShortlistForm
from upsides.web.sales.relatives import families, offered
from upsides.web.shell.access import may_open
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.string.choices import Choice, Option
from upsides.web.string.following import back_there
from upsides.web.string.sentences import sex_words
from upsides.web.trip.lot import lot_trip


@dataclass(frozen=True, slots=True)
class Row:
    """A lot in its list.

    Args:
        lot: its row of the books.
        what: what it is.
        price: as printed.
        mark: the mark that put it on the shortlist, None where it is not on it.
        vetted: whether a note of a vetting stands.
    """

    lot: Lot
    what: str
    price: str
    mark: Mark | None
    vetted: bool


def sale_page(found: SaleLots, asked: Asked, as_of: str) -> dict[str, Any]:
    """Return the page of a sale: fifty of the lots that were looked for."""
    count = len(found.found)
    pages = max(1, -(-count // A_PAGE))
    page = min(asked.page, pages)
    first, last = (page - 1) * A_PAGE, min(page * A_PAGE, count)
    return {
        "sale": found.sale,
        "sentence": sentences.about_sale(found),
        "found": sentences.about_found(first + 1, last, count, len(found.lots)),
        "asked": asked,
        "choices": _choices(found, asked),
        "rows": [_row(lot, found) for lot in found.found[first:last]],
        "priced": any(lot.price is not None for lot in found.lots),
        "before": asked.address(page - 1, as_of) if page > 1 else "",
        "after": asked.address(page + 1, as_of) if page < pages else "",
        "all": Asked(type(asked.wanted)(), 1).address(as_of=as_of),
    }


def _row(lot: Lot, found: SaleLots) -> Row:
    return Row(lot, sentences.what(lot), sentences.price(lot), found.marks.get(lot.pk), lot.pk in found.vetted)


def _choices(found: SaleLots, asked: Asked) -> list[Choice]:
    """Return what the list can be narrowed by, with what was chosen."""
    wanted = asked.wanted
    sires = {lot.sire: lot.sire for lot in found.lots if lot.sire}
    sexes = {lot.sex: sex_words(lot.sex) for lot in found.lots if lot.sex}
    on = {"yes": _("on it"), "no": _("not on it")}
    return [
        Choice("sire", _("Sire"), _answers(sires, wanted.sire)),
        Choice("sex", _("Sex"), _answers(sexes, wanted.sex)),
        Choice("shortlisted", _("Shortlist"), _answers(on, wanted.shortlisted)),
    ]


def _answers(given: dict[str, str], chosen: str) -> list[Option]:
    if chosen and chosen not in given:
        given = given | {chosen: chosen}
    pairs = [("", _("all")), *sorted(given.items(), key=lambda pair: pair[1].casefold())]
    return [(value, words, value == chosen) for value, words in pairs]


def lot_page(
    request: VisitedRequest, number: int, form: NoteForm | None = None, wrong: str | Promise = ""
) -> dict[str, Any]:
    """Return the page of a lot; `form` is a note that was refused, and `wrong` says why.

    `trip` is what is thought of its best distance, None as long as nothing is.

    Raises:
        Http404: there is no such lot.
    """
    moment, who = moment_of(request), request.visitor
    shown = reads.lot(who, moment, number)
    if shown is None:
        raise Http404(_("There is no lot %(number)s in these books.") % {"number": number})
    kin = kinsfolk.kin(settings.UPSIDES_LIBRARY, moment, shown.lot)
    back = back_there(request)
    return {
        "moment": moment,
        "back": back,
        "shown": shown,
        "title": sentences.title(shown.lot),
        "what": sentences.what(shown.lot),
        "price": sentences.price(shown.lot),
        "sentence": sentences.about_lot(shown),
        "trip": lot_trip(settings.UPSIDES_LIBRARY, who, moment, shown.lot, request.path),
        "kin": kin,
        "record": sentences.record(kin.own) if kin.own else "",
        "families": families(shown, kin, back),
        "offered": offered(kin),
        "library": settings.UPSIDES_LIBRARY,
        "chooses": may_open("lot_shortlist", who.roles),
        "writes": may_open("lot_note", who.roles),
        "shortlist": ShortlistForm(),
        "form": form or NoteForm(initial={"kind": "look"}),
        "wrong": wrong,
        "notes": _mendable(shown.standing, who),
    }


def _mendable(notes: Sequence[Said], who: Visitor) -> list[tuple[Said, NoteForm | None]]:
    """Return notes with the form for correcting each, None where the visitor may not."""
    may = may_open("lot_note", who.roles)
    return [
        (said, _filled(said) if may and (who.roles & MENDERS or said.note.author_id == who.person.pk) else None)
        for said in notes
    ]


def _filled(said: Said) -> NoteForm:
    initial = {"client_id": uuid4(), "kind": said.note.kind, "text": said.note.text}
    return NoteForm(initial=initial, auto_id=f"id_{said.note.pk}_%s")
