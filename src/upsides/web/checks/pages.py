"""What the page of a round shows."""

import json
from dataclasses import dataclass
from typing import Any, Final
from urllib.parse import urlencode

from django.utils.translation import gettext as _

from upsides.books.diary import kind_of
from upsides.books.diary.seen import LEFT
from upsides.books.queries.checks import BarnRound, Checked, Round, barn_round, news
from upsides.books.queries.moments import Moment
from upsides.books.queries.names import Lists, lists
from upsides.books.services.diary import MENDERS
from upsides.web.checks.sentences import TITLES, about_round, about_times, known, not_yet, other_round, phone_words
from upsides.web.diary import sentences as diary_sentences
from upsides.web.diary.forms import filled
from upsides.web.diary.pages import addresses, author
from upsides.web.shell.middleware import VisitedRequest

PANELS: Final = ("not_right", "leg", "shoe", "mass", "droppings")
"""Kinds whose fields open in a row."""
FIELDS: Final = ("temperature", "feed_left")
"""Kinds that are entered in a row by controls of their own."""


@dataclass(frozen=True, slots=True)
class Row:
    """A horse's row.

    Args:
        one: the horse on the round.
        known: sentences of what is known at a glance.
        not_yet: that nobody looked at it, empty where somebody did.
        other: what the day's other round found.
    """

    one: Checked
    known: list[str]
    not_yet: str
    other: str


def round_page(request: VisitedRequest, moment: Moment, wrong: str = "") -> dict[str, Any]:
    """Return the page of one barn's round.

    Args:
        request: what was asked; `barn` and `round` choose.
        moment: the moment that is looked from.
        wrong: why what was entered was refused.
    """
    who, seen_news = request.visitor, "" if moment.at else news()
    wanted = request.GET.get("round", "")
    which = Round(wanted) if wanted in set(Round) else None
    seen = barn_round(moment, request.GET.get("barn"), which, who)
    return entering(lists(moment)) | {
        "moment": moment,
        "title": TITLES[seen.round],
        "round": seen.round.value,
        "sentence": about_round(seen),
        "times": about_times(seen),
        "rows": [_row(seen, one) for one in seen.horses],
        "mends": bool(who.roles & MENDERS),
        "barns": [_choice(request, "barn", name, name or _("Without a box"), seen.barn) for name in seen.barns],
        "rounds": [_choice(request, "round", one.value, title, seen.round.value) for one, title in TITLES.items()],
        "author": json.dumps(author(request, moment)),
        "news": seen_news,
        "wrong": wrong,
    }


def entering(known_names: Lists) -> dict[str, Any]:
    """Return what entering needs with and without signal: nothing in it is anybody's."""
    fields = {name: filled(kind_of(name), {}) for name in (*PANELS, *FIELDS)}
    return {
        "lists": known_names,
        "words": json.dumps(diary_sentences.phone_words() | phone_words()),
        "addresses": json.dumps(addresses()),
        "panels": [{"name": name, "title": kind_of(name).title, "fields": fields[name]} for name in PANELS],
        "own_fields": [{"name": name, "fields": fields[name]} for name in FIELDS],
        "temperature": fields["temperature"][0],
        "left": LEFT.items(),
    }


def _row(seen: BarnRound, one: Checked) -> Row:
    return Row(one, known(one), not_yet(one), other_round(seen, one.other))


def _choice(request: VisitedRequest, name: str, value: str, words: object, chosen: str) -> dict[str, Any]:
    """Return a link to the same page with another barn or round."""
    asked = {key: request.GET.get(key) for key in ("barn", "round", "as_of")} | {name: value}
    told = {key: text for key, text in asked.items() if text is not None}
    return {"address": f"?{urlencode(told)}", "words": words, "here": value == chosen}
