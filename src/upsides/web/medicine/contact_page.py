"""Contacts of a horse, and horses that came lately, as pages."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.http import QueryDict
from django.utils.translation import gettext as _

from upsides.books.models import Gallop, Horse, Person
from upsides.books.queries import moments
from upsides.books.queries.boxes import all_boxes
from upsides.books.queries.contact_traces import Contact, How
from upsides.books.queries.contacts import DAYS, contacts, horses_named
from upsides.books.queries.isolation import arrivals
from upsides.books.queries.moments import Moment
from upsides.web.medicine.asking import days_of
from upsides.web.medicine.contact_words import HEADINGS, SURE
from upsides.web.medicine.sentences import about_arrivals, about_contacts
from upsides.web.medicine.words import listed, spans

PEOPLE = frozenset({How.RIDER, How.GIVER})
BOXES = frozenset({How.BOX, How.BARN})
"""Ways in which the first of a key is the number of a person, or of a box."""


def contacts_page(horse: Horse, moment: Moment, query: QueryDict) -> dict[str, Any]:
    """Return what the page of a horse's contacts shows, the closest way first.

    Raises:
        UnreadableError: the days that are asked for are no number.
    """
    days = days_of(query.get("days", ""), DAYS)
    found = contacts(moment, horse.id, days)
    names, known = horses_named(moment, found), _known(moment, found)
    groups = [
        {
            "title": HEADINGS[how],
            "sure": SURE[how],
            "rows": [_row(one, names, known) for one in found if one.how is how],
        }
        for how in How
    ]
    others = {one.horse for one in found}
    return {
        "moment": moment,
        "horse": horse,
        "days": days,
        "sentence": about_contacts(horse.name, len(others), days, moment.day),
        "groups": [group for group in groups if group["rows"]],
    }


def isolation_page(moment: Moment, query: QueryDict) -> dict[str, Any]:
    """Return what the page of the horses that came lately shows.

    Raises:
        UnreadableError: the days that are asked for are no number.
    """
    days = days_of(query.get("days", ""), DAYS)
    found = arrivals(moment, days)
    return {"moment": moment, "days": days, "found": found, "sentence": about_arrivals(found, days)}


def _row(one: Contact, names: Mapping[int, str], known: Mapping[tuple[str, int], str]) -> dict[str, Any]:
    return {
        "horse": one.horse,
        "name": names.get(one.horse, ""),
        "days": spans(one.days) if one.how in {*BOXES, How.NEIGHBOUR} else "",
        "by": _by(one, known),
        "seen": one.seen,
    }


def _by(one: Contact, known: Mapping[tuple[str, int], str]) -> str:
    """Return what was shared: boxes, people, gallops by name, lots by number, lorries and tack as entered."""
    firsts = list(dict.fromkeys(key[0] for key in one.keys))
    if one.how in PEOPLE:
        return listed(known.get(("person", first), "") for first in firsts)
    if one.how in BOXES:
        return listed(known.get(("box", first), "") for first in firsts)
    if one.how is How.NEIGHBOUR:
        pairs = dict.fromkeys(key[:2] for key in one.keys)
        boxes = [{"one": known.get(("box", a), ""), "other": known.get(("box", b), "")} for a, b in pairs]
        return listed(_("%(one)s beside %(other)s") % pair for pair in boxes)
    if one.how is How.GALLOP:
        return listed(known.get(("gallop", first), "") for first in firsts)
    if one.how is How.LOT:
        return listed(_("lot %(number)s") % {"number": f"{first:g}"} for first in firsts)
    return listed(one.labels)


def _known(moment: Moment, found: Sequence[Contact]) -> dict[tuple[str, int], str]:
    """Return the names of what contacts shared, by what it is and its number."""
    people = {key[0] for one in found if one.how in PEOPLE for key in one.keys}
    gallops = {key[0] for one in found if one.how is How.GALLOP for key in one.keys}
    tables = {"person": (Person, people), "gallop": (Gallop, gallops)}
    known = {
        (what, number): name
        for what, (model, numbers) in tables.items()
        for number, name in moments.names(model, moment, numbers).items()
        if number is not None
    }
    return known | {("box", box.pk): str(box) for box in all_boxes(moment)}
