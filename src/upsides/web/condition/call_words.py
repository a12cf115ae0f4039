"""Calls in words: the questions, chances, what came of them."""

from collections.abc import Mapping
from typing import Final

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from upsides.books.queries.calls import Called
from upsides.condition.called import Why
from upsides.condition.calls import About
from upsides.web.shell.templatetags.words import short_day
from upsides.web.trip.words import trip_words

ASKED: Final[Mapping[str, str | Promise]] = {
    "fit": gettext_lazy("Will its next run be at its own level or better?"),
    "fresh": gettext_lazy("Will it be well for a fortnight?"),
    "first four": gettext_lazy("Will it be among the first four of its next run?"),
    "would run": gettext_lazy("Will it run within four weeks?"),
    "trip": gettext_lazy("Which trip is its best, to half a furlong?"),
}
SHORT: Final[Mapping[str, str | Promise]] = {
    "fit": gettext_lazy("Fit"),
    "fresh": gettext_lazy("Fresh"),
    "first four": gettext_lazy("First four"),
    "would run": gettext_lazy("Would run"),
    "trip": gettext_lazy("Trip"),
}
MEANS: Final[Mapping[str, str | Promise]] = {
    "fit": gettext_lazy(
        "The next run within 28 days counts: yes if our figure for it is no more than a pound below the level held now."
    ),
    "fresh": gettext_lazy(
        "No for 14 days of “not right”, a vet's finding, or a run further below its level than runs spread; yes if "
        "none of it came and it ran with a figure, or a vet looked at it; otherwise nobody knows."
    ),
    "first four": gettext_lazy("The next run within 28 days counts. The tool's chance is over the field that ran."),
    "would run": gettext_lazy("Told as shares and never scored, since who calls it also decides it."),
    "trip": gettext_lazy("A best trip is never seen, so what is said of it stays open for good."),
}
CHANCES: Final[Mapping[str, tuple[float, str | Promise]]] = {
    "5": (0.05, gettext_lazy("almost surely not")),
    "10": (0.10, gettext_lazy("very likely not")),
    "30": (0.30, gettext_lazy("rather not")),
    "50": (0.50, gettext_lazy("as likely as not")),
    "70": (0.70, gettext_lazy("rather yes")),
    "90": (0.90, gettext_lazy("very likely")),
    "95": (0.95, gettext_lazy("almost surely")),
}
"""What can be said, in a hundred; nobody is certain of a horse."""


def chance_words(chance: float) -> str:
    """Return a chance as so many in a hundred."""
    return _("%(of)s in 100") % {"of": min(max(round(100 * chance), 1), 99)}


def said_words(one: Called) -> str:
    """Return what somebody said, with the trip where it was about one."""
    if one.row.trip_f is None:
        return chance_words(one.row.chance)
    return _("%(trip)s, %(chance)s") % {"trip": trip_words(one.row.trip_f), "chance": chance_words(one.row.chance)}


def tool_words(one: Called) -> str:
    """Return what the tool said, or why it says nothing."""
    if one.tool is not None:
        return chance_words(one.tool)
    if one.row.about == "first four" and one.why == "waits":
        return _("known once the field is")
    return "–" if one.row.about == "would run" else _("nothing")


def short_words(about: str) -> str:
    """Return a question in a word."""
    return str(SHORT[about])


def came_words(one: Called) -> str:
    """Return what came of a call."""
    told = {"day": short_day(one.day) if one.day else ""}
    if one.came is not None:
        return (_YES if one.came else _NO)[_shown(one.row.about, one.why)] % told
    return str(_OPEN.get(_shown(one.row.about, one.why)) or _OPEN[one.why]) % told


def _shown(about: About | str, why: Why) -> str:
    return "ran" if why == "ran" and about != "fresh" else f"fresh: {why}" if about == "fresh" else why


_YES: Final[Mapping[str, str | Promise]] = {
    "ran": gettext_lazy("yes, on %(day)s"),
    "fresh: ran": gettext_lazy("yes: it ran on %(day)s, and nothing was found"),
    "fresh: looked at": gettext_lazy("yes: a vet looked at it on %(day)s and found nothing"),
}
_NO: Final[Mapping[str, str | Promise]] = {
    "ran": gettext_lazy("no, on %(day)s"),
    "not run": gettext_lazy("no"),
    "fresh: ran": gettext_lazy("no: it ran far below its level on %(day)s"),
    "fresh: not right": gettext_lazy("no: not right on %(day)s"),
    "fresh: found": gettext_lazy("no: a vet found something on %(day)s"),
}
_OPEN: Final[Mapping[str, str | Promise]] = {
    "waits": gettext_lazy("waits"),
    "not run": gettext_lazy("open: it did not run"),
    "no figure": gettext_lazy("open: its run on %(day)s has no figure"),
    "no level": gettext_lazy("open: no level was held when it was called"),
    "fresh: no figure": gettext_lazy("open: it ran on %(day)s without a figure, and no vet looked at it"),
    "fresh: no level": gettext_lazy(
        "open: it ran on %(day)s, but no level was held when it was called, and no vet looked at it"
    ),
    "nobody looked": gettext_lazy("open: it did not run, and no vet looked at it"),
    "never seen": gettext_lazy("stays open"),
}
