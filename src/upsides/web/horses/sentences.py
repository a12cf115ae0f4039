"""Boxes, and what is kept of a horse, in words."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.functional import Promise
from django.utils.text import get_text_list
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from upsides.books.models import Box, Engagement, Horse, Move
from upsides.books.queries.horse import Shown
from upsides.books.queries.horse_book import Book, Told
from upsides.books.queries.horse_changes import HorseChange
from upsides.books.queries.ownership import Fault
from upsides.books.queries.walk import Place, Walk
from upsides.rules import By
from upsides.trade.life_number import LifeNumber, Microchip
from upsides.web.shell.templatetags.words import day

MOST_NAMES = 6
_FIELDS: dict[str, Promise] = {
    "name": gettext_lazy("Name"),
    "foaled": gettext_lazy("Foaled, year"),
    "foaled_on": gettext_lazy("Foaled, day"),
    "sex": gettext_lazy("Sex"),
    "gelded_on": gettext_lazy("Gelded on"),
    "sire": gettext_lazy("Sire"),
    "dam": gettext_lazy("Dam"),
    "colour": gettext_lazy("Colour"),
    "markings": gettext_lazy("Markings"),
    "passport": gettext_lazy("Passport"),
    "microchip": gettext_lazy("Microchip"),
    "life_number": gettext_lazy("Life number"),
    "carer_id": gettext_lazy("Looked after by"),
    "joined": gettext_lazy("Came on"),
    "left": gettext_lazy("Left for good on"),
    "horse_key": gettext_lazy("Key in the results"),
}


def listed(names: Iterable[str]) -> str:
    """Return names as they are said one after the other; of many the first, and how many more."""
    told = list(names)
    more = len(told) - MOST_NAMES
    if more > 1:
        count = ngettext("%(count)s more", "%(count)s more", more) % {"count": more}
        told = [*told[:MOST_NAMES], count]
    return str(get_text_list(told, _("and")))


def about_walk(walk: Walk, today: date) -> str:
    """Return how full the boxes are on a day, which of them hold two horses, and who has none."""
    places = [place for place in walk.places if place.box.name]
    if not walk.places:
        return _("There is no box yet; add the boxes of each barn, then put the horses into them.")
    told = {"taken": sum(bool(place.horses) for place in places), "count": len(places), "day": day(walk.day)}
    if walk.day == today:
        first = ngettext("%(taken)s of %(count)s box is taken.", "%(taken)s of %(count)s boxes are taken.", len(places))
    else:
        first = ngettext(
            "%(taken)s of %(count)s box is taken on %(day)s.", "%(taken)s of %(count)s boxes are taken on %(day)s.",
            len(places),
        )  # fmt: skip
    sentences = [first % told]
    for place in walk.places:
        if place.crowded:
            names = listed(one.horse.name for one in place.horses)
            sentences.append(_("In %(box)s stand %(names)s.") % {"box": place.box, "names": names})
    if walk.without:
        sentences.append(_("Without a box: %(names)s.") % {"names": listed(horse.name for horse in walk.without)})
    return " ".join(sentences)


def about_put(horse: Horse, there: Place | None, on: date) -> str:
    """Return where a horse stands on a day."""
    told = {"name": horse.name, "box": there.box if there else "", "day": day(on)}
    if there is None:
        return _("%(name)s has no box on %(day)s. Choose one.") % told
    return _("%(name)s stands in %(box)s on %(day)s. Choose another box.") % told


def put_words(horse: Horse, box: Box | None, on: date) -> str:
    """Return what was done."""
    told = {"name": horse.name, "box": box or "", "day": day(on)}
    return (_("%(name)s stands in %(box)s from %(day)s.") if box else _("%(name)s has no box from %(day)s.")) % told


def swap_words(horse: Horse, other: str, on: date) -> str:
    """Return that two horses changed places."""
    told = {"name": horse.name, "other": other, "day": day(on)}
    return _("%(name)s and %(other)s change places from %(day)s.") % told


def added_words(boxes: Sequence[Box]) -> str:
    """Return which boxes were added."""
    told = {"count": len(boxes), "barn": boxes[0].barn}
    return ngettext("%(count)s box is added to %(barn)s.", "%(count)s boxes are added to %(barn)s.", len(boxes)) % told


def about_kept(shown: Shown, faults: Sequence[Fault]) -> str:
    """Return where a horse is, and what of it is still to be done."""
    book = shown.book
    sentences = [where_words(shown)]
    waiting = len(book.to_tell) if book else 0
    if waiting:
        words = ngettext("%(count)s thing is to be declared.", "%(count)s things are to be declared.", waiting)
        sentences.append(words % {"count": waiting})
    if any(one.not_whole for one in faults):
        sentences.append(_("Its parts are not one whole on every day."))
    return " ".join(sentences)


def where_words(shown: Shown) -> str:
    """Return where a horse is, as a sentence."""
    horse, place, stood = shown.horse, shown.place, shown.stood
    today = shown.book.day if shown.book else None
    told = {"name": horse.name, "box": stood.called if stood else "", "where": place_words(place)}
    if today and horse.left and horse.left <= today:
        return _("%(name)s left on %(day)s.") % (told | {"day": day(horse.left)})
    if today and horse.joined > today:
        return _("%(name)s comes on %(day)s.") % (told | {"day": day(horse.joined)})
    if place and place.to != Move.To.TRAINING:
        if stood:
            return _("%(name)s is %(where)s; %(box)s is kept for it.") % told
        return _("%(name)s is %(where)s.") % told
    return (_("%(name)s stands in %(box)s.") if stood else _("%(name)s has no box.")) % told


def place_words(place: Move | None) -> str:
    """Return where a horse went: turned out, Long Meadow; empty for nowhere."""
    if place is None:
        return ""
    where = str(place.get_to_display())
    return _("%(where)s, %(note)s") % {"where": where, "note": place.note} if place.note else where


def identity(horse: Horse) -> list[tuple[str, str]]:
    """Return what a horse is known by, as far as it is known: what, and its value."""
    told: list[tuple[str, Any]] = [
        (_("Foaled"), day(horse.foaled_on) if horse.foaled_on else str(horse.foaled)),
        (_("Gelded on"), day(horse.gelded_on) if horse.gelded_on else ""),
        (_("Colour"), horse.colour),
        (_("Markings"), horse.markings),
        (_("Passport"), horse.passport),
        (_("Microchip"), spaced(horse.microchip, Microchip)),
        (_("Life number"), spaced(horse.life_number, LifeNumber)),
    ]
    return [(what, value) for what, value in told if value]


def spaced(kept: str, kind: type[Microchip] | type[LifeNumber]) -> str:
    """Return a number as it is read aloud; one that an earlier program kept as it was typed stays as it is."""
    return str(kind(kept)) if len(kept) == 15 else kept


def mark_lines(book: Book) -> list[str]:
    """Return the official marks that hold: "78 lb on turf, GB, from 3 May 2026"."""
    return [
        _("%(value)s\u00a0lb on %(ground)s, %(country)s, from %(day)s")
        % {"value": one.value, "ground": one.get_ground_display(), "country": one.country, "day": day(one.effective)}
        for one in book.marks_now
    ]


def declare_words(told: Told, *, raced: bool) -> tuple[str, str]:
    """Return what is to be declared and by when, and who says so."""
    row = told.row
    said = {"what": str(row.get_what_display()).capitalize(), "day": day(row.happened_on)}
    if row.declared_on:
        return _("%(what)s, %(day)s; declared on %(when)s.") % (said | {"when": day(row.declared_on)}), ""
    if told.ran:
        words = _(
            "%(what)s, %(day)s. It ran on %(ran)s since, and nothing here says that this was declared: "
            "ask the authority."
        )
        return words % (said | {"ran": day(told.ran)}), ""
    if told.rule is None:
        return _("%(what)s, %(day)s. Ask the authority whether and when it is declared.") % said, ""
    if told.rule.raced_only and not raced:
        return _("%(what)s, %(day)s. It has never run, and this is asked of horses that have.") % said, _basis(told)
    if told.next is None:
        words = {
            By.ENTRY: _("%(what)s, %(day)s: to be told with the entry for its next run."),
            By.DECLARATION: _("%(what)s, %(day)s: to be told with the declaration for its next run."),
        }[told.rule.by]
        return words % said, _basis(told)
    return _for_race(told.rule.by, told.next) % (said | _race(told.rule.by, told.next)), _basis(told)


def _for_race(by: By, race: Engagement) -> str:
    known = race.enter_by if by is By.ENTRY else race.declare_by
    if by is By.ENTRY:
        if known:
            return _("%(what)s, %(day)s: to be told with the entry for %(race)s, until %(until)s.")
        return _("%(what)s, %(day)s: to be told with the entry for %(race)s.")
    if known:
        return _("%(what)s, %(day)s: to be told with the declaration for %(race)s, until %(until)s.")
    return _("%(what)s, %(day)s: to be told with the declaration for %(race)s.")


def _race(by: By, race: Engagement) -> dict[str, str]:
    known = race.enter_by if by is By.ENTRY else race.declare_by
    name = _("%(race)s at %(course)s") % {"race": race.race, "course": race.course}
    return {"race": name, "until": _moment(known, race.zone) if known else ""}


def _moment(when: datetime, zone: str) -> str:
    local = when.astimezone(ZoneInfo(zone))
    return _("%(day)s, %(time)s") % {"day": day(local.date()), "time": f"{local:%H:%M}"}


def _basis(told: Told) -> str:
    if told.rule is None:
        return ""
    rule = told.rule.rule
    said = {"source": rule.source, "note": rule.note}
    if rule.confidence == "memory":
        return _("Common practice, from memory; your authority's current code decides. %(note)s") % said
    return _("%(source)s. Your authority's current code decides. %(note)s") % said


def fault_words(fault: Fault) -> str:
    """Return what is not as it must be about the owners, and on which days."""
    told = {"first": day(fault.first), "last": day(fault.last) if fault.last else "", "total": fault.total}
    if fault.total == 0:
        words = _("Nobody is said to own it from %(first)s to %(last)s.") if fault.last else _(
            "Nobody is said to own it from %(first)s on."
        )  # fmt: skip
    elif fault.not_whole:
        words = _("The parts add up to %(total)s instead of one from %(first)s to %(last)s.") if fault.last else _(
            "The parts add up to %(total)s instead of one from %(first)s on."
        )  # fmt: skip
    elif fault.managing:
        words = _("More than one owner decides from %(first)s to %(last)s.") if fault.last else _(
            "More than one owner decides from %(first)s on."
        )  # fmt: skip
    else:
        words = _("It is not said which owner decides from %(first)s to %(last)s.") if fault.last else _(
            "It is not said which owner decides from %(first)s on."
        )  # fmt: skip
    return words % told


def change_words(change: HorseChange) -> str:
    """Return one change as a sentence."""
    if not change.field:
        return _("Entered")
    told = {
        "field": _FIELDS[change.field], "old": _said(change.field, change.old), "new": _said(change.field, change.new)
    }  # fmt: skip
    if not told["old"]:
        return _("%(field)s: %(new)s") % told
    if not told["new"]:
        return _("%(field)s taken away; it was %(old)s") % told
    return _("%(field)s: %(new)s; it was %(old)s") % told


def value_words(horse: Horse, field: str) -> str:
    """Return what a field holds, a dash for nothing."""
    value = horse.carer.name if field == "carer" and horse.carer else getattr(horse, field)
    return _said(field, value) or "–"


def _said(field: str, value: str | int | date | None) -> str:
    if value is None:
        return ""
    if isinstance(value, date):
        return day(value)
    if field == "sex":
        return str(Horse.Sex(str(value)).label)
    if field == "microchip":
        return spaced(str(value), Microchip)
    return spaced(str(value), LifeNumber) if field == "life_number" else str(value)
