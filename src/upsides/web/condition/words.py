"""Values of condition in words that can be translated."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final

from django.contrib.humanize.templatetags.humanize import apnumber
from django.utils.formats import number_format
from django.utils.functional import Promise
from django.utils.text import get_text_list
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from upsides.books.diary.seen import LEFT, MIND
from upsides.books.diary.work import EXERCISES, FELT

if TYPE_CHECKING:
    from upsides.condition.exposure.held import Standing
    from upsides.condition.fit import Kind
    from upsides.condition.fresh.latest import Missing, Where

PIECES: "Final[Mapping[Kind, str | Promise]]" = {
    "speed at 200 beats": gettext_lazy("speed at 200 beats"),
    "speed at highest heart": gettext_lazy("speed at its highest heart rate"),
    "recovery": gettext_lazy("the heart a minute after work"),
    "speed on known gallops": gettext_lazy("speed on known gallops"),
    "figures in races": gettext_lazy("figures in races"),
}
SIGNS: Final[Mapping[str, str | Promise]] = {
    "mass": gettext_lazy("mass"),
    "temperature": gettext_lazy("temperature"),
    "resting heart": gettext_lazy("pulse at rest"),
    "recovery": gettext_lazy("the heart a minute after work"),
    "appetite": gettext_lazy("appetite"),
    "rider's word": gettext_lazy("the rider's word"),
    "mind": gettext_lazy("its mind"),
    "racing mass": gettext_lazy("racing mass"),
    "heart at work": gettext_lazy("the heart at work"),
    "speed at 200 beats": gettext_lazy("speed at 200 beats"),
}
WHAT: Final[Mapping[str, str | Promise]] = {**SIGNS, **{str(kind): words for kind, words in PIECES.items()}}
UNITS: Final[Mapping[str, str | Promise]] = {
    "mass": gettext_lazy("%(value)s\u00a0kg"),
    "temperature": gettext_lazy("%(value)s\u00a0°C"),
    "resting heart": gettext_lazy("%(value)s a minute"),
    "recovery": gettext_lazy("%(value)s a minute"),
}
PLACES: Final = {"mass": 1, "temperature": 1, "resting heart": 0, "recovery": 0}
SOURCES: Final[Mapping[str, str | Promise]] = {
    "tracker": gettext_lazy("tracker"),
    "thumb": gettext_lazy("stopwatch"),
    "result": gettext_lazy("races"),
    "told": gettext_lazy("told, not measured"),
    "usual": gettext_lazy("what such exercise usually comes to"),
}
WHERE: "Final[Mapping[Where, str | Promise]]" = {
    "below": gettext_lazy("below what nine in ten would be"),
    "above": gettext_lazy("above what nine in ten would be"),
    "within": gettext_lazy("within what nine in ten would be"),
    "cannot be told": gettext_lazy("too few values before to tell"),
}
STANDINGS: "Final[Mapping[Standing, str | Promise]]" = {
    "reached": gettext_lazy("reached"),
    "near": gettext_lazy("near"),
    "not reached": gettext_lazy("not reached"),
    "past": gettext_lazy("past"),
    "no border": gettext_lazy("published without a border"),
    "not known": gettext_lazy("not known"),
}
GAITS: Final[Mapping[str, str | Promise]] = {"canter": gettext_lazy("canter")}
"""The gait of a work of which the diary says no exercise, where that is no exercise itself."""
LEFT_WORDS: Final = {"nothing": 0.0, "some": 0.25, "half": 0.5, "most": 0.75, "all": 1.0}


def listed(words: Sequence[str | Promise]) -> str:
    """Return words as a list that ends with and."""
    return get_text_list([str(one) for one in words], _("and"))


def days_ago(days: int) -> str:
    """Return how long ago something was."""
    if days == 0:
        return _("today")
    return ngettext("%(days)s day ago", "%(days)s days ago", days) % {"days": days}


def ago(days: Sequence[int]) -> str:
    """Return how long ago some days were, from the latest to the earliest: three weeks ago, two to five months ago."""
    if not days:
        return _("some weeks ago")
    short, long = _long(min(days)), _long(max(days))
    if short == long:
        return _("%(long)s ago") % {"long": long}
    return _("%(short)s to %(long)s ago") % {"short": short, "long": long}


def _long(days: int) -> str:
    """Return so many days as days, weeks or months, whichever is plainest."""
    if days < 14:
        return ngettext("%(count)s day", "%(count)s days", days) % {"count": apnumber(days)}
    if days < 92:
        weeks = round(days / 7)
        return ngettext("%(count)s week", "%(count)s weeks", weeks) % {"count": apnumber(weeks)}
    months = round(days / 30.44)
    return ngettext("%(count)s month", "%(count)s months", months) % {"count": apnumber(months)}


def in_so_many(chance: float) -> str:
    """Return a chance as 9 in 10."""
    from upsides.condition.fit import odds  # it loads much that the list of whom to look at first need not

    found = odds(chance)
    return _("%(of)s in %(out_of)s") % {"of": found.of, "out_of": found.out_of}


def left_words(share: float) -> str:
    """Return what was left of a feed."""
    word = next(name for name, value in LEFT_WORDS.items() if value == share)
    return str(LEFT[word])


def exercise_words(name: str) -> str:
    """Return an exercise, or the gait of a work of which the diary says none."""
    return str({**GAITS, **EXERCISES}.get(name, name))


def word_of(what: str, word: str) -> str:
    """Return a rider's word, or a word on the mind."""
    return str({"rider's word": FELT, "mind": MIND}[what].get(word, word))


def missing_words(missing: "Sequence[Missing]") -> list[str]:
    """Return what was not measured, and for how long; what is missing is a finding.

    What was measured and says nothing is told apart: too little came before it, or nobody worked it out for the day.
    """
    told = [
        ngettext("%(what)s not for %(days)s day", "%(what)s not for %(days)s days", one.days)
        % {"what": WHAT.get(one.what, one.what), "days": one.days}
        for one in missing
        if one.days is not None and one.why == "not measured"
    ]
    told += [_unheld(one, one.days) for one in missing if one.days is not None and one.why != "not measured"]
    never = [WHAT.get(one.what, one.what) for one in missing if one.days is None]
    return [*told, *([_("%(what)s not at all in the last months") % {"what": listed(never)}] if never else [])]


def _unheld(one: "Missing", days: int) -> str:
    """Return that something was measured, and why it says nothing."""
    told = {"what": WHAT.get(one.what, one.what), "when": days_ago(days)}
    if one.why == "not worked out":
        return _("%(what)s: the last %(when)s; what it says was not worked out for this day") % told
    return _("%(what)s: the last %(when)s, with too little before it to hold it against") % told


def signed(value: float | None) -> str:
    """Return a number with its sign and one digit, a dash for none."""
    if value is None:
        return "–"
    rounded = round(value, 1)
    return f"{'+' if rounded > 0 else '−' if rounded < 0 else ''}{number_format(abs(rounded), 1)}"
