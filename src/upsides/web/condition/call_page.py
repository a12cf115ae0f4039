"""The pages on which verdicts are called, ready for their templates."""

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides.books.models import Horse
from upsides.books.queries.calls import Called, Coming, calls_of, coming_runs, made_today
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import Visitor
from upsides.condition.called import QUESTIONS
from upsides.web.condition.call_form import questions
from upsides.web.condition.call_words import came_words, said_words, short_words, tool_words
from upsides.web.condition.words import listed

LATEST = 20
"""So many calls are listed."""


def call_page(
    horse: Horse, who: Visitor, moment: Moment, typed: Mapping[str, str] | None = None, wrong: str = ""
) -> dict[str, Any]:
    """Return the page of one horse: what was said today with the tool's beside it, and what is still to be asked.

    What was called before, by oneself and others, is shown only to who has said something on that day.
    """
    today = made_today(who, moment, horse.pk)
    answered = {one.row.about for one in today}
    asked = questions(answered, typed or {})
    before = [one for one in calls_of(who, moment, horse.pk) if one not in today] if today else []
    return {
        "moment": moment,
        "horse": horse,
        "sentence": _about(horse.name, today, left=len(asked)),
        "today": [(short_words(one.row.about), said_words(one), tool_words(one), one.row) for one in today],
        "asked": asked,
        "before": [_line(one) for one in before[:LATEST]],
        "wrong": wrong,
    }


def _about(name: str, today: list[Called], *, left: int) -> str:
    if not today:
        return _("Say what you think of %(name)s before the tool's answer is shown.") % {"name": name}
    told = {"name": name, "what": listed([short_words(one.row.about) for one in today]).lower()}
    if left:
        return _("You called %(name)s today: %(what)s. The tool's answer stands beside yours.") % told
    return _("You called everything of %(name)s today. The tool's answer stands beside yours.") % told


def calls_page(who: Visitor, moment: Moment) -> dict[str, Any]:
    """Return the list of horses with a run to come, and one's own last calls."""
    coming = coming_runs(who, moment)
    mine = [one for one in calls_of(who, moment) if one.row.author_id == who.person.pk]
    return {
        "moment": moment,
        "sentence": about_coming(coming),
        "coming": [(one, _still(one)) for one in coming],
        "lately": [_line(one) for one in mine[:LATEST]],
    }


def about_coming(coming: list[Coming]) -> str:
    """Return how many horses have a run to come, and how many were called today."""
    if not coming:
        return _("No horse is meant for a race in the next fortnight; any horse can be called from its own page.")
    told = {"count": len(coming), "called": sum(bool(one.answered) for one in coming)}
    text = ngettext(
        "%(count)s horse has a run in the next fortnight; you called %(called)s of them today.",
        "%(count)s horses have a run in the next fortnight; you called %(called)s of them today.",
        len(coming),
    )
    return text % told


def _still(one: Coming) -> str:
    if not one.answered:
        return ""
    if len(one.answered) == len(QUESTIONS):
        return _("all called today")
    return _("called today: %(what)s") % {"what": listed([short_words(about) for about in one.answered]).lower()}


def _line(one: Called) -> dict[str, Any]:
    return {
        "row": one.row,
        "author": one.author,
        "about": short_words(one.row.about),
        "said": said_words(one),
        "tool": "" if one.why == "waits" else tool_words(one),
        "came": came_words(one),
    }
