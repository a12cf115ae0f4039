"""Relatives of a lot, ready for their templates."""

from dataclasses import dataclass
from typing import Final
from urllib.parse import quote_plus

from django.urls import reverse
from django.utils.translation import gettext as _

from upsides.books.models import Lot, Sale
from upsides.books.queries.kin import Kin, Relative
from upsides.books.queries.lot import OneLot
from upsides.web.sales import sentences
from upsides.web.string.sentences import sex_words

SHOWN: Final = 12
"""Horses by the same sire that are shown; there can be hundreds."""


@dataclass(frozen=True, slots=True)
class Told:
    """A horse in a table.

    Args:
        horse: what is known of it.
        sex: the word for it, empty where it is not known.
        parent: its other parent, empty where it is not known.
        trips: over which trips it ran.
        won_over: over which it won.
    """

    horse: Relative
    sex: str
    parent: str
    trips: str
    won_over: str


@dataclass(frozen=True, slots=True)
class Family:
    """Horses that share a parent with the lot.

    Args:
        title: which parent.
        sentence: what they have done together.
        parent: what the other parent is called.
        before: what stands before its name where there is no column.
        horses: those that are shown.
        link: address of the lots of the sale with the same parent, empty for none.
        link_words: what is found there.
    """

    title: str
    sentence: str
    parent: str
    before: str
    horses: list[Told]
    link: str = ""
    link_words: str = ""


@dataclass(frozen=True, slots=True)
class Offered:
    """Another lot out of the same dam.

    Args:
        lot: its row.
        sale: the sale's.
        title: what it is called.
        what: what it is.
        price: as printed.
    """

    lot: Lot
    sale: Sale
    title: str
    what: str
    price: str


def families(shown: OneLot, kin: Kin, back: str) -> list[Family]:
    """Return those out of the same dam, then those by the same sire; what is empty is left out."""
    of_dam = [_told(one, one.sire) for one in kin.of_dam]
    found = [Family(_("Out of the same dam"), sentences.about_kin(kin.of_dam), _("Sire"), _("by"), of_dam)]
    return [family for family in (*found, _of_sire(shown, kin, back)) if family.horses or family.link]


def _of_sire(shown: OneLot, kin: Kin, back: str) -> Family:
    about = sentences.about_kin(kin.of_sire)
    if len(kin.of_sire) > SHOWN:
        about = _("%(about)s Shown are the %(number)s with most runs.") % {"about": about, "number": SHOWN}
    horses = [_told(one, one.dam) for one in kin.of_sire[:SHOWN]]
    link, words = "", ""
    if kin.lots_of_sire:
        link = f"{reverse('sale', args=[shown.sale.pk])}?sire={quote_plus(shown.lot.sire)}{back.replace('?', '&')}"
        words = _("Lots of this sale by the same sire: %(number)s") % {"number": kin.lots_of_sire + 1}
    return Family(_("By the same sire"), about, _("Dam"), _("out of"), horses, link, words)


def _told(one: Relative, parent: str) -> Told:
    sex = sex_words(one.sex) if one.sex else ""
    return Told(one, sex, parent, sentences.trips(one), sentences.won_over(one))


def offered(kin: Kin) -> list[Offered]:
    """Return other lots out of the same dam."""
    return [
        Offered(lot, sale, sentences.title(lot), sentences.what(lot), sentences.price(lot))
        for lot, sale in kin.lots_of_dam
    ]
