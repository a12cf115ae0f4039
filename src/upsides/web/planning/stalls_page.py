"""The page of a horse's path to the starting stalls, ready for its template."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, Final

from django.utils.formats import date_format
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from upsides.books.diary.work import BROKE, HOW, STALLS, Stalls
from upsides.books.models import Engagement, Horse, Inside
from upsides.books.queries.diary import Written
from upsides.books.queries.engaged import Engaged
from upsides.books.queries.moments import Moment
from upsides.books.queries.stalls_path import AtStalls, at_stalls_page, calm, next_race, reminders
from upsides.books.queries.string_plan import horse_plan
from upsides.books.queries.visitors import Visitor, opened
from upsides.planning.work.stalls import PATH, reminded, told
from upsides.web.planning.words import day_words, said_words, together
from upsides.web.programme.words import titled, trip

STEPS: Final[Mapping[str, str | Promise]] = {
    "walked_through": gettext_lazy("walked through"),
    "stood": gettext_lazy("stood"),
    "jumped": gettext_lazy("jumped"),
    "company": gettext_lazy("jumped in company"),
    "test": gettext_lazy("stalls test, for the certificate"),
}
"""Steps of the path."""


@dataclass(frozen=True, slots=True)
class Line:
    """A lesson in words: what it did, how it was, how it came out, more; its entry."""

    entry: Written
    did: str
    how: str
    broke: str
    more: str


def stalls_page(library: Path, who: Visitor, moment: Moment, horse: Horse) -> dict[str, Any]:
    """Return what the template needs; `plans` is whether anything of plans is told."""
    found = at_stalls_page(library, moment, horse, who)
    page: dict[str, Any] = {
        "horse": horse,
        "sentence": said_words(told(found.where)[0]),
        "steps": [(str(STEPS[step]), step_words(found, step), step in found.where.taken) for step in PATH],
        "lessons": _lines(found),
        "plans": horse.pk in opened(who, Inside.PLANS),
    }
    return page | (_ahead(library, who, moment, horse) if page["plans"] else {})


def step_words(found: AtStalls, step: str) -> str:
    """Return how far a horse is with a step of the path: learned on 3 May 2026, to be tried again, to come."""
    tried = [one for one in found.lessons if step in one.steps]
    last = tried[-1] if tried else None
    if step in found.where.taken:
        shown = [one.day for one in tried if one.composed]
        if shown:
            return _("learned, last on %(day)s") % {"day": _day(shown[-1])}
        return _("taken as learned: it has run") if found.last_run else _("taken as learned: a later step was composed")
    if last is None:
        return _("to come")
    if last.composed:
        return _("to be gone over again; last on %(day)s") % {"day": _day(last.day)}
    return _("to be tried again; %(how)s on %(day)s") % {"how": _word(HOW, last.how), "day": _day(last.day)}


def _lines(found: AtStalls) -> list[Line]:
    """Return the lessons in words, the latest first."""
    beside = {one.day for one in found.lessons if one.company}
    return [_line(one, Stalls.kept_as(one.entry.values), beside) for one in found.entries]


def _line(entry: Written, one: Stalls, beside: set[date]) -> Line:
    did = [str(STALLS.get(word, word)) for word in one.done]
    if entry.happened.date() in beside and "company" not in one.done:
        did.append(str(STALLS["company"]))
    return Line(entry, ", ".join(did), _word(HOW, one.how), _word(BROKE, one.broke), one.text or "")


def _word(words: Mapping[str, str | Promise], word: str | None) -> str:
    return str(words.get(word, word)) if word else "–"


def _ahead(library: Path, who: Visitor, moment: Moment, horse: Horse) -> dict[str, Any]:
    """Return the next race with what to mind of it, and lessons that are planned."""
    race, plan = next_race(library, moment, horse), horse_plan(who, moment, horse.pk)
    planned = plan.planned.days if plan is not None and plan.planned is not None else ()
    days = [day_words(one.day) for one in planned if one.exercise == "stalls"]
    mind = mind_words(library, moment, [race], who) if race else ""
    return {
        "race": _race_words(race) if race else "",
        "mind": mind,
        "calm": calm_words(library, moment, race, who) if race and not mind else "",
        "planned": together(days) if days else "",
    }


def calm_words(library: Path, moment: Moment, race: Engaged, who: Visitor) -> str:
    """Return why there is nothing to mind at the stalls of a race, or that nobody can tell."""
    said = calm(library, moment, race, who)
    return said_words(said) if said else _("How far that race is is not entered, so whether the break counts is open.")


def mind_words(library: Path, moment: Moment, runs: Sequence[Engaged], who: Visitor) -> str:
    """Return what to mind at the stalls in a race, in a sentence; empty for nothing."""
    return " ".join(said_words(reminded(one)) for one in reminders(library, moment, runs, who).values())


def _race_words(one: Engaged) -> str:
    parts = (titled(one.race), one.race.course, trip(one.race))
    told_of = {"day": day_words(one.race.day), "race": ", ".join(part for part in parts if part)}
    if one.engagement.state == Engagement.State.MEANT:
        return _("%(day)s, meant for: %(race)s.") % told_of
    return _("%(day)s: %(race)s.") % told_of


def _day(day: date) -> str:
    return date_format(day, "j F Y")
