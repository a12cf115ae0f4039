"""A horse's ration, ready for its template."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from django.http import QueryDict
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from upsides import feeding
from upsides.books.models import Feed, Horse, Ration
from upsides.books.queries import feed_needs, moments
from upsides.books.queries.feed_needs import Needs
from upsides.books.queries.feeding import feed_times, feeds, in_force, rations, servings
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import Visitor
from upsides.web.feeding.asking import asked_needs
from upsides.web.feeding.needs_words import change_words, facts, proposed, sources
from upsides.web.feeding.ration_form import RationForm
from upsides.web.feeding.sentences import about_ration, unknown
from upsides.web.feeding.words import WORKS, kg, listed, plain

STEP = 0.05
"""kg to which a proposal is rounded where it is taken over."""


@dataclass(frozen=True, slots=True)
class Dated:
    """One ration as it was written: its row, what it holds in words, and whether it is in force or to come."""

    ration: Ration
    words: str
    now: bool
    to_come: bool


def ration_page(
    library: Path, who: Visitor, moment: Moment, horse: Horse, query: QueryDict, sent: RationForm | None = None
) -> dict[str, Any]:
    """Return what the page shows.

    Args:
        library: folder of the library, which may hold rules of the yard's own.
        who: the visitor.
        moment: when to look from.
        horse: as it was.
        query: what is named in the address.
        sent: the form as it was sent and refused; None to show what is given.

    Raises:
        FeedingRefusedError: a mass, a class of work or hours that cannot be right are named.
    """
    labels, times, written = feeds(moment), feed_times(moment), rations(moment, [horse.pk])
    ration = in_force(written, moment.day).get(horse.pk)
    given = servings(ration, labels) if ration else None
    asked = asked_needs(query)
    found = feed_needs.needs(library, moment, horse, given or (), labels.values(), times, asked)
    measured = feed_needs.measured(moment, horse.pk, who)
    return {
        "moment": moment,
        "horse": horse,
        "ration": ration,
        "sentence": about_ration(horse, given, found, here=moments.in_training(moment).filter(pk=horse.pk).exists()),
        "unknown": unknown(found),
        "table": _table(given or (), times),
        "needs": found,
        "facts": facts(found, asked),
        "asked": asked,
        "works": [(work, capfirst(str(words)), work == asked.work) for work, words in WORKS.items()],
        "proposal": proposed(found.proposal),
        "sources": sources(found.figures),
        "history": _history(written, labels, moment.day, ration),
        "measured": measured,
        "change": change_words(feed_needs.change(measured)),
        "form": sent or form_of(moment, horse, found if query.get("draft") else None),
        "drafted": bool(query.get("draft") and found.proposal and not sent),
        "query": _kept(query),
    }


def form_of(moment: Moment, horse: Horse, found: Needs | None = None) -> RationForm:
    """Return the form with what the horse gets from tomorrow on, or with what is proposed, from then on."""
    labels, written = feeds(moment), rations(moment, [horse.pk])
    day = moment.day + timedelta(days=1) if written else moment.day
    ration = in_force(written, day).get(horse.pk)
    given = servings(ration, labels) if ration else ()
    note = ration.note if ration else ""
    if found and found.proposal:
        given = tuple(rounded(one) for one in found.proposal.ration.servings)
    return RationForm.showing(fed(labels.values(), given), feed_times(moment), day, given, note)


def fed(labels: Sequence[Feed] | Any, given: Sequence[feeding.Serving]) -> list[Feed]:
    """Return the feeds that can be given: those in use, and those that the horse gets."""
    names = {one.feed for one in given}
    return [feed for feed in labels if feed.used or feed.name in names]


def rounded(one: feeding.Serving) -> feeding.Serving:
    """Return a serving as it can be weighed."""
    return feeding.Serving(one.time, one.feed, round(round(one.kg / STEP) * STEP, 2))


def _table(given: Sequence[feeding.Serving], times: Sequence[str]) -> dict[str, Any]:
    heads = list(dict.fromkeys([*times, *(one.time for one in given)]))
    names = dict.fromkeys(one.feed for one in given)
    at = {(one.feed, one.time): one.kg for one in given}
    rows = [(name, [at.get((name, time)) for time in heads]) for name in names]
    return {
        "heads": [capfirst(time) for time in heads],
        "rows": [
            (name, [(capfirst(time), plain(one) if one else "") for time, one in zip(heads, cells, strict=True)],
             kg(sum(one or 0 for one in cells)))
            for name, cells in rows
        ],
    }  # fmt: skip


def _history(written: Sequence[Ration], labels: dict[int, Feed], today: date, now: Ration | None) -> list[Dated]:
    return [
        Dated(
            one,
            listed(servings(one, labels)) or _("nothing"),
            now is not None and one.pk == now.pk,
            one.first_day > today,
        )
        for one in reversed(written)
    ]


def _kept(query: QueryDict) -> str:
    """Return what the address names of mass and work, for links that keep it."""
    kept = QueryDict(mutable=True)
    kept.update({name: text for name in ("work", "kg", "hours", "as_of") if (text := query.get(name, ""))})
    return kept.urlencode()
