"""A horse's case in a race as pages show it: its reasons, its weight line by line, what it needs for a mark."""

from collections.abc import Iterable
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides.books.queries.placing import Case
from upsides.placing import Carried, Finding, ForMark, Says
from upsides.web.programme.reasons import by, line_words, reason
from upsides.web.programme.words import carried_words, weight

NOT_KNOWN = "memory"


def case_shown(case: Case) -> dict[str, Any]:
    """Return a case for a template."""
    found = case.eligible
    return {
        "horse": case.horse,
        "code": case.code,
        "race": case.race,
        "says": case.says,
        "may": case.says is Says.YES,
        "weight": carried_words(case.carried),
        "weighing": weighing(case.carried),
        "no_weight": case.no_weight,
        "against": reasons(found.against),
        "open": reasons(found.open),
        "unread": found.unread,
        "for": reasons(one for one in found.findings if one.says is Says.YES),
        "notes": reasons(found.notes),
    }


def reasons(found: Iterable[Finding]) -> list[tuple[str, str]]:
    """Return reasons as sentences, each with what it rests on."""
    return [(reason(one), by(one)) for one in found]


def weighing(one: Carried | None) -> dict[str, Any]:
    """Return a weight line by line; nothing where there is none."""
    if one is None:
        return {}
    extra = weight(one.equipment, one.unit) if one.equipment else ""
    return {
        "lines": [
            (*line_words(line, one.unit), line.wording or (str(line.rule) if line.rule else "")) for line in one.lines
        ],
        "unsure": [line_words(line, one.unit) for line in one.unsure],
        "missing": one.missing,
        "out": weight(one.out_of_handicap, one.unit) if one.out_of_handicap > 0 else "",
        "equipment": extra,
        "on_the_horse": weight(one.on_the_horse, one.unit) if extra else "",
        "memory": one.grade == NOT_KNOWN,
    }


def mark_words(found: ForMark | None) -> str:
    """Return how many runs a horse still needs before it can have a mark; empty where it has one or nobody knows."""
    if found is None or found.has:
        return ""
    if not found.runs:
        return _("It has no mark yet, and has run often enough to be given one.")
    text = ngettext(
        "It has no mark yet, and needs %(runs)s more run for one.",
        "It has no mark yet, and needs %(runs)s more runs for one.",
        found.runs,
    )
    text %= {"runs": found.runs}
    if found.after_win >= found.runs:
        return text
    more = ngettext("After a win %(runs)s would do.", "After a win %(runs)s would do.", found.after_win)
    return f"{text} {more % {'runs': found.after_win}}"
