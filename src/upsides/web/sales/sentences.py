"""Sales and lots in words."""

from collections.abc import Sequence
from decimal import Decimal

from django.contrib.humanize.templatetags.humanize import intcomma
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides.books.models import Lot
from upsides.books.queries.kin import Relative
from upsides.books.queries.lot import OneLot
from upsides.books.queries.sales import Counted, SaleLots
from upsides.web.shell.templatetags.words import day, metres
from upsides.web.string.sentences import sex_words


def about_sales(counted: Sequence[Counted]) -> str:
    """Return how many sales there are, with how many lots."""
    if not counted:
        return _("No list of a sale has been brought in yet.")
    number, chosen = sum(one.lots for one in counted), sum(one.shortlisted for one in counted)
    told = {"sales": intcomma(len(counted)), "lots": _lots(number)}
    words = [ngettext("%(sales)s sale with %(lots)s.", "%(sales)s sales with %(lots)s.", len(counted)) % told]
    if chosen:
        text = ngettext("%(number)s of them is on the shortlist.", "%(number)s of them are on the shortlist.", chosen)
        words.append(text % {"number": intcomma(chosen)})
    return " ".join(words)


def _lots(number: int) -> str:
    return ngettext("%(number)s lot", "%(number)s lots", number) % {"number": intcomma(number)}


def about_sale(found: SaleLots) -> str:
    """Return how many lots there are, how many of them are on the shortlist, and what is no longer there."""
    removed = sum(lot.removed for lot in found.lots)
    told = {"lots": _lots(len(found.lots) - removed), "chosen": intcomma(len(found.marks))}
    words = [_("%(lots)s, %(chosen)s on the shortlist.") % told if found.marks else _("%(lots)s.") % told]
    if found.vetted:
        words.append(_("A vetting is noted of %(number)s of these.") % {"number": len(found.vetted)})
    if removed:
        text = ngettext(
            "%(number)s lot of an earlier list is no longer in it.",
            "%(number)s lots of an earlier list are no longer in it.",
            removed,
        )
        words.append(text % {"number": intcomma(removed)})
    return " ".join(words)


def about_found(first: int, last: int, found: int, lots: int) -> str:
    """Return which lots are shown, of how many."""
    told = {"first": first, "last": last, "found": intcomma(found), "lots": intcomma(lots)}
    if not found:
        return _("None of %(lots)s lots.") % told
    if found == lots:
        return _("Lots %(first)s to %(last)s of %(lots)s, in order.") % told
    return _("%(first)s to %(last)s of %(found)s that answer to this, of %(lots)s lots.") % told


def what(lot: Lot) -> str:
    """Return what a lot is: bay colt, foaled 2013; empty where the list says none of it."""
    sex = sex_words(lot.sex) if lot.sex else _("horse, sex not given")
    told = {"colour": lot.colour, "sex": sex, "foaled": lot.foaled}
    if not lot.sex and not lot.colour and not lot.foaled:
        return ""
    if lot.foaled:
        text = _("%(colour)s %(sex)s, foaled %(foaled)s") if lot.colour else _("%(sex)s, foaled %(foaled)s")
        return text % told
    return _("%(colour)s %(sex)s") % told if lot.colour else sex


def price(lot: Lot) -> str:
    """Return a price as it was printed, a dash for none."""
    if lot.price is None:
        return "–"
    number = intcomma(int(lot.price) if lot.price == int(lot.price) else Decimal(lot.price))
    return _("%(number)s\u00a0%(currency)s") % {"number": number, "currency": lot.currency} if lot.currency else number


def title(lot: Lot) -> str:
    """Return what a lot's page is called."""
    told = {"number": lot.number, "name": lot.name}
    return _("Lot %(number)s, %(name)s") % told if lot.name else _("Lot %(number)s") % told


def about_lot(shown: OneLot) -> str:
    """Return how a lot is bred, and whether the yard wants it."""
    words = [_bred(shown.lot)]
    if shown.lot.removed:
        words.append(_("It is no longer in the list of the sale."))
    if shown.on:
        words.append(_("It is on the shortlist."))
    elif shown.marks:
        words.append(_("It was taken off the shortlist."))
    return " ".join(words)


def _bred(lot: Lot) -> str:
    told = {"sire": lot.sire, "dam": lot.dam, "dam_sire": lot.dam_sire}
    if not lot.sire and not lot.dam:
        return _("The list names neither sire nor dam.")
    if not lot.dam:
        return _("By %(sire)s; the list does not name the dam.") % told
    if not lot.sire:
        return _("Out of %(dam)s; the list does not name the sire.") % told
    if lot.dam_sire:
        return _("By %(sire)s out of %(dam)s, by %(dam_sire)s.") % told
    return _("By %(sire)s out of %(dam)s.") % told


def about_kin(horses: Sequence[Relative]) -> str:
    """Return what some horses have done together."""
    if not horses:
        return ""
    ran, won = [one for one in horses if one.runs], [one for one in horses if one.wins]
    number = len(horses)
    told = {"number": number, "ran": len(ran), "won": len(won)}
    if not ran:
        text = ngettext("One is known; it has not run.", "%(number)s are known; none has run.", number)
    elif not won:
        text = ngettext(
            "One is known; it has run and not won.",
            "%(number)s are known; %(ran)s have run, none has won.",
            len(horses),
        )
    else:
        text = ngettext(
            "One is known; it has run and won.",
            "%(number)s are known; %(ran)s have run, %(won)s have won.",
            len(horses),
        )
    return text % told + _won_over(won)


def _won_over(horses: Sequence[Relative]) -> str:
    trips = sorted({trip for one in horses for trip in one.won_over})
    if not trips:
        return ""
    return _(" Won over %(trips)s.") % {"trips": _between(trips[0], trips[-1])}


def record(one: Relative) -> str:
    """Return what a horse has done in a sentence."""
    if not one.runs or one.last is None:
        return _("The library holds no run of it.")
    told = {"runs": one.runs, "wins": one.wins, "trips": trips(one), "day": day(one.last)}
    text = ngettext(
        "%(runs)s run over %(trips)s, %(wins)s won; it last ran on %(day)s.",
        "%(runs)s runs over %(trips)s, %(wins)s won; it last ran on %(day)s.",
        one.runs,
    )
    return text % told


def trips(one: Relative) -> str:
    """Return over which trips a horse ran: 1000 m, or 1000–1400 m; a dash for none."""
    if one.shortest is None or one.longest is None:
        return "–"
    return _between(one.shortest, one.longest)


def won_over(one: Relative) -> str:
    """Return the trips that a horse won over: 1000, 1200 m; a dash for none."""
    if not one.won_over:
        return "–"
    return _("%(trips)s\u00a0m") % {"trips": ", ".join(f"{trip:.0f}" for trip in one.won_over)}


def _between(shortest: float, longest: float) -> str:
    if shortest == longest:
        return metres(shortest)
    return _("%(shortest)s–%(longest)s\u00a0m") % {"shortest": f"{shortest:.0f}", "longest": f"{longest:.0f}"}
