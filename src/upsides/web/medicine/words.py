"""Codes of the rules in words: diseases, doses, what a horse may not do, how days are counted."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from typing import Final

from django.utils.formats import date_format, number_format
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from upsides.books.models import Person
from upsides.books.queries.given import Reason
from upsides.rules import (
    HERPESVIRUS,
    INFLUENZA,
    Counting,
    DoseWindow,
    Occasion,
    PublishedKind,
    RegisterField,
    StandDown,
    Step,
)

DISEASES: Final[Mapping[str, Promise]] = {
    INFLUENZA: gettext_lazy("equine influenza"),
    HERPESVIRUS: gettext_lazy("equine herpesvirus"),
    "tetanus": gettext_lazy("tetanus"),
    "strangles": gettext_lazy("strangles"),
    "another disease": gettext_lazy("another disease"),
}
STEPS: Final[Mapping[Step, Promise]] = {
    Step.FIRST: gettext_lazy("first dose"),
    Step.SECOND: gettext_lazy("second dose"),
    Step.THIRD: gettext_lazy("third dose"),
    Step.BOOSTER: gettext_lazy("booster"),
}
OCCASIONS: Final[Mapping[Occasion, Promise]] = {
    Occasion.ENTRY: gettext_lazy("entries close"),
    Occasion.DECLARATION: gettext_lazy("declarations close"),
    Occasion.RACE: gettext_lazy("race day"),
    Occasion.ARRIVAL: gettext_lazy("arrival"),
}
DEEDS: Final[Mapping[str, Promise]] = {
    "race": gettext_lazy("run in a race"),
    "training": gettext_lazy("be trained"),
    "timed work": gettext_lazy("do timed work"),
    "work to leave a list": gettext_lazy("do the work that takes it off a list"),
    "official trial": gettext_lazy("run in an official trial"),
    "jump-out": gettext_lazy("run in a jump-out"),
    "racecourse property": gettext_lazy("be on racecourse property"),
    "arrival": gettext_lazy("arrive"),
    "any time": gettext_lazy("at any time"),
}
"""What a rule keeps a horse from."""
TREATMENTS: Final[Mapping[str, Promise]] = {
    "vaccine": gettext_lazy("vaccine"),
    "shock-wave": gettext_lazy("shock-wave"),
    "clenbuterol": gettext_lazy("clenbuterol"),
    "anabolic steroid": gettext_lazy("anabolic steroid"),
    "intra-articular injection": gettext_lazy("injection into a joint"),
    "intra-articular corticosteroid": gettext_lazy("corticosteroid into a joint"),
    "intra-articular polyacrylamide hydrogel": gettext_lazy("polyacrylamide hydrogel into a joint"),
    "powered therapeutic device": gettext_lazy("powered therapeutic device"),
    "physiotherapy": gettext_lazy("physiotherapy"),
    "osteopathy": gettext_lazy("osteopathy"),
    "chiropractic": gettext_lazy("chiropractic"),
    "acupuncture": gettext_lazy("acupuncture"),
}
PUBLISHED: Final[Mapping[PublishedKind, tuple[Promise, Promise]]] = {
    PublishedKind.DETECTION: (
        gettext_lazy("Detection times"),
        gettext_lazy("How long an authority's laboratory found it in a few horses of a trial. No withdrawal time."),
    ),
    PublishedKind.GUIDELINE: (
        gettext_lazy("Withdrawal guidelines"),
        gettext_lazy("A time between the last dose and the race that an authority advises."),
    ),
    PublishedKind.WITHDRAWAL: (
        gettext_lazy("Withdrawal times"),
        gettext_lazy("The least time between the last dose and the race that an authority sets."),
    ),
    PublishedKind.STUDY: (
        gettext_lazy("Findings of single studies"),
        gettext_lazy("What one study found in its horses. No authority stands behind it."),
    ),
}
"""The kinds of published times: never mixed, each with what it is."""
FIELDS: Final[Mapping[RegisterField, Promise]] = {
    RegisterField.PRODUCT: gettext_lazy("no product"),
    RegisterField.BATCH: gettext_lazy("no batch"),
    RegisterField.DATE: gettext_lazy("no day"),
    RegisterField.TIME: gettext_lazy("no time"),
    RegisterField.QUANTITY: gettext_lazy("no quantity"),
    RegisterField.SUPPLIER: gettext_lazy("no supplier"),
    RegisterField.SUPPLIER_ADDRESS: gettext_lazy("no address of the supplier"),
    RegisterField.HORSE: gettext_lazy("no horse"),
    RegisterField.VET: gettext_lazy("prescriber not named"),
    RegisterField.WITHDRAWAL_PERIOD: gettext_lazy("no withdrawal time, and not said to be out of the food chain"),
    RegisterField.DURATION: gettext_lazy("no length of the treatment"),
    RegisterField.ROUTE: gettext_lazy("no route"),
    RegisterField.GIVEN_BY: gettext_lazy("who gave it is not named"),
    RegisterField.HOW_DISPOSED: gettext_lazy("how it was disposed of is not said"),
}
"""What a line of a register lacks."""
HELD: Final[Mapping[RegisterField, Promise]] = {
    RegisterField.PRODUCT: gettext_lazy("product"),
    RegisterField.BATCH: gettext_lazy("batch"),
    RegisterField.DATE: gettext_lazy("day"),
    RegisterField.TIME: gettext_lazy("time"),
    RegisterField.QUANTITY: gettext_lazy("quantity"),
    RegisterField.SUPPLIER: gettext_lazy("supplier"),
    RegisterField.SUPPLIER_ADDRESS: gettext_lazy("address of the supplier"),
    RegisterField.HORSE: gettext_lazy("horse"),
    RegisterField.VET: gettext_lazy("vet"),
    RegisterField.WITHDRAWAL_PERIOD: gettext_lazy("withdrawal period"),
    RegisterField.DURATION: gettext_lazy("length of the treatment"),
    RegisterField.ROUTE: gettext_lazy("route"),
    RegisterField.GIVEN_BY: gettext_lazy("who gave it"),
    RegisterField.HOW_DISPOSED: gettext_lazy("how it was disposed of"),
}
"""What a line of a register must hold."""
CONFIDENCE: Final[Mapping[str, Promise]] = {
    "high": gettext_lazy("well verified"),
    "medium": gettext_lazy("verified in part"),
    "low": gettext_lazy("poorly verified"),
    "memory": gettext_lazy("from memory, not verified"),
    "derived": gettext_lazy("worked out from other figures"),
}


def day(when: date) -> str:
    """Return a day as 3 May 2026."""
    return date_format(when, "j\u00a0F\u00a0Y")


def called(somebody: Person) -> str:
    """Return somebody's name, or that it was removed."""
    return _("name removed") if somebody.erased_at else somebody.name


def disease(name: str) -> str:
    """Return a disease that the rules name."""
    return str(DISEASES.get(name, name))


def treatment(name: str) -> str:
    """Return a treatment that the rules name."""
    return str(TREATMENTS.get(name, name))


def listed(words: Iterable[str]) -> str:
    """Return words with commas between them."""
    return ", ".join(words)


def deeds(rest: StandDown) -> str:
    """Return what a stand-down keeps a horse from, e.g. "run in a race, be on racecourse property"."""
    return listed(str(DEEDS.get(name, name)) for name in rest.applies_to)


def counted(rest: StandDown) -> str:
    """Return how the days of a stand-down were counted."""
    units = {
        "days": ngettext("%(count)s day", "%(count)s days", rest.count),
        "months": ngettext("%(count)s calendar month", "%(count)s calendar months", rest.count),
        "hours": ngettext("%(count)s hour", "%(count)s hours", rest.count),
    }
    told = {"span": units[rest.unit] % {"count": rest.count}, "day": day(rest.counted_from)}
    ways = {
        Counting.FREE: _("%(span)s left free after %(day)s; neither that day nor the day asked about counts."),
        Counting.INCLUDED: _("%(span)s, %(day)s being the first of them."),
        Counting.OPEN: _("%(span)s from %(day)s. The wording can be read in two ways; the later day is taken."),
        Counting.HOURS: _(
            "%(span)s from the treatment of %(day)s; from the end of that day where its hour is not known."
        ),
        Counting.NONE: _("A limit without a count of days."),
    }
    return ways[rest.counting] % told


def follows(reason: Reason) -> str:
    """Return what a stand-down follows, e.g. "Depovet (corticosteroid into a joint)"."""
    name = treatment(reason.stand_down.treatment)
    if not reason.product or reason.product.casefold() == name.casefold():
        return name
    return _("%(product)s (%(treatment)s)") % {"product": reason.product, "treatment": name}


def windows(found: Sequence[DoseWindow]) -> str:
    """Return stretches of days, e.g. "1 to 6 June 2026, 12 June 2026"."""
    return listed(span(one.first, one.last) for one in found)


def span(first: date, last: date) -> str:
    """Return some days in a row, e.g. "1 to 6 June 2026"; one day as that."""
    if first == last:
        return day(first)
    told = {"first": date_format(first, "j" if (first.year, first.month) == (last.year, last.month) else "j\u00a0F")}
    if first.year != last.year:
        told = {"first": day(first)}
    return _("%(first)s to %(last)s") % (told | {"last": day(last)})


def spans(days: Sequence[date]) -> str:
    """Return days in order as stretches, e.g. "3 to 8 June 2026, 11 June 2026"."""
    found: list[DoseWindow] = []
    for one in days:
        if found and one - found[-1].last == timedelta(days=1):
            found[-1] = DoseWindow(found[-1].first, one)
        else:
            found.append(DoseWindow(one, one))
    return windows(found)


def hours(number: float) -> str:
    """Return hours, with days beside them where they are whole."""
    told = {"hours": number_format(f"{number:g}")}
    if number >= 48 and number % 24 == 0:
        return _("%(hours)s hours (%(days)s days)") % (told | {"days": round(number / 24)})
    return _("%(hours)s hours") % told
