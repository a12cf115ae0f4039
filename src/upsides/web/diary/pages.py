"""What the diary's pages show."""

import json
from collections.abc import Mapping, Sequence
from typing import Any
from uuid import uuid4

from django.urls import reverse

from upsides.books.diary import KINDS, kind_of
from upsides.books.models import Horse, Person, Role
from upsides.books.queries import diary as reads
from upsides.books.queries import names
from upsides.books.queries.checks import news
from upsides.books.queries.diary import Written
from upsides.books.queries.doses import given_today
from upsides.books.queries.in_training import in_training
from upsides.books.queries.moments import Moment
from upsides.books.queries.names import Lists
from upsides.books.queries.visitors import Visitor
from upsides.books.services.devices import author_token
from upsides.books.services.diary import MENDERS
from upsides.web.diary.forms import Filled, device_for, filled, offered, row_number
from upsides.web.diary.sentences import about_conflicts, about_day, phone_words
from upsides.web.shell.middleware import VisitedRequest

FEW = 3
"""Fields that are corrected on the list of the day; an entry with more of them is corrected on its own page."""


def day_page(request: VisitedRequest, moment: Moment, wrong: str = "", twice: str = "") -> dict[str, Any]:
    """Return the page of a day: what can be entered, and what was.

    Args:
        request: what was asked.
        moment: the moment that is looked from.
        wrong: why what was entered was refused.
        twice: what was given before, where a second dose waits to be confirmed.
    """
    who = request.visitor
    seen_news = "" if moment.at else news()
    entries = reads.of_day(moment, who)
    string = horses(who.person, moment)
    conflicts, mends = len(reads.conflicts(moment)), mendable(who, entries)
    typed = request.POST if request.method == "POST" else request.GET
    return entering(typed, who.roles, names.lists(moment)) | {
        "moment": moment,
        "sentence": about_day(entries, {horse.pk for horse, _mine in string}),
        "entries": entries,
        "mendable": {number: fields for number, fields in mends.items() if len(fields) <= FEW},
        "elsewhere": {number for number, fields in mends.items() if len(fields) > FEW},
        "own": [horse for horse, mine in string if mine],
        "others": [horse for horse, mine in string if not mine],
        "chosen": row_number(typed.get("horse", "")),
        "client_id": uuid4(),
        "author": json.dumps(author(request, moment)),
        "news": seen_news,
        "conflicts": about_conflicts(conflicts) if conflicts else "",
        "wrong": wrong,
        "twice": twice,
    }


def entering(typed: Mapping[str, str], roles: frozenset[Role], lists: Lists) -> dict[str, Any]:
    """Return what entering needs with and without signal: nothing in it is anybody's but what was just typed."""
    return {
        "groups": offered(typed, roles),
        "lists": lists,
        "words": json.dumps(phone_words()),
        "addresses": json.dumps(addresses()),
    }


def addresses() -> dict[str, str]:
    """Return the addresses that the scripts for entering ask."""
    places = {"works": "clock_works", "worker": "service_worker"}
    places |= {name: f"diary_{name}" for name in ("send", "author", "horses", "doses")}
    return {name: reverse(place) for name, place in places.items()}


def entry_page(who: Visitor, number: int, moment: Moment) -> dict[str, Any] | None:
    """Return an entry with all that corrected or withdrew it; None where there is none."""
    rows = reads.history(number, moment, who)
    if not rows:
        return None
    return {
        "moment": moment,
        "kind": kind_of(rows[0].entry.kind).title,
        "first": rows[0],
        "rows": rows,
        "standing": [row for row in rows if row.stands],
        "mendable": mendable(who, rows),
        "lists": names.lists(moment),
    }


def author(request: VisitedRequest, moment: Moment) -> dict[str, Any] | None:
    """Return who enters here, with the mark that entries kept on a phone carry; None on a phone that is not known.

    With it come the kinds that this person may enter, and the people whom entries may name: they are kept on the phone
    no longer than this person is.
    """
    person, device = request.visitor.person, device_for(request)
    if device is None:
        return None
    return {
        "number": person.pk,
        "name": person.name,
        "token": author_token(device, person),
        "own": reads.looked_after(person, moment),
        "barn": person.barn,
        "kinds": [kind.name for kind in KINDS.values() if kind.by & request.visitor.roles],
        "people": names.lists(moment).people,
    }


def horses(person: Person, moment: Moment) -> list[tuple[Horse, bool]]:
    """Return the horses in training by name, with whether the person looks after each."""
    own = set(reads.looked_after(person, moment))
    return [(horse, horse.pk in own) for horse in in_training(moment).values()]


def second_dose(typed: Mapping[str, str], moment: Moment) -> str:
    """Return what was given to the chosen horse today that a second dose of the chosen kind would repeat."""
    kind, horse = typed.get("kind", ""), row_number(typed.get("horse", ""))
    given = given_today(kind, horse, moment) if horse and kind in KINDS and KINDS[kind].dose else []
    return "" if "again" in typed else " ".join(given)


def mendable(who: Visitor, rows: Sequence[Written]) -> dict[int, list[Filled]]:
    """Return the fields for correcting each row that stands and that the visitor may correct, by its number."""
    may = [row for row in rows if row.stands and (who.roles & MENDERS or row.entry.author_id == who.person.pk)]
    return {row.entry.pk: filled(kind_of(row.entry.kind), row.typed) for row in may}
