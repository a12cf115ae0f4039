"""Values of the trade in words, for templates."""

from collections.abc import Mapping
from datetime import date
from functools import lru_cache
from math import ceil
from typing import Any

from django import template
from django.contrib.humanize.templatetags import humanize
from django.utils.formats import date_format
from django.utils.translation import get_language, gettext_lazy, ngettext, override
from django.utils.translation import gettext as _

from upsides.web.shell.refusals import in_words

register = template.Library()

_QUARTERS = ("", "¼", "½", "¾")
_SHORT = (
    (0.07, gettext_lazy("a nose")),
    (0.15, gettext_lazy("a short head")),
    (0.25, gettext_lazy("a head")),
    (0.4, gettext_lazy("a neck")),
)
_NOT_PLACED = {
    "finished": gettext_lazy("finished"),
    "unplaced": gettext_lazy("unplaced"),
    "pulled_up": gettext_lazy("pulled up"),
    "fell": gettext_lazy("fell"),
    "unseated": gettext_lazy("unseated"),
    "brought_down": gettext_lazy("brought down"),
    "slipped_up": gettext_lazy("slipped up"),
    "refused": gettext_lazy("refused"),
    "ran_out": gettext_lazy("ran out"),
    "left_at_start": gettext_lazy("left at start"),
    "did_not_finish": gettext_lazy("did not finish"),
    "disqualified": gettext_lazy("disqualified"),
    "took_no_part": gettext_lazy("took no part"),
    "withdrawn": gettext_lazy("withdrawn"),
    "reserve": gettext_lazy("reserve"),
}
_SURFACES = {
    "turf": gettext_lazy("turf"),
    "dirt": gettext_lazy("dirt"),
    "synthetic": gettext_lazy("synthetic"),
}


@register.filter
def refusal(text: str) -> str:
    """Return a text of a refusal in the reader's language."""
    return in_words(text)


@register.filter
def lb(pounds: float | None) -> str:
    """Return pounds to the nearest whole one, a dash for none."""
    return "–" if pounds is None else f"{round(pounds)}"


@register.filter
def pounds(carried: float | None) -> str:
    """Return a weight carried as 126 lb, a dash for none."""
    return "–" if carried is None else _("%(pounds)s\u00a0lb") % {"pounds": f"{carried:.0f}"}


@register.filter
def metres(distance: float | None) -> str:
    """Return a trip as 1600 m, a dash for none."""
    return "–" if distance is None else _("%(metres)s\u00a0m") % {"metres": f"{distance:.0f}"}


@register.filter
def day(when: date) -> str:
    """Return a date as 3 May 2026."""
    return _written(when, "j\u00a0F\u00a0Y", get_language())


@register.filter
def short_day(when: date) -> str:
    """Return a date as 3 May 26, for columns."""
    return _written(when, "j\u00a0M\u00a0y", get_language())


@lru_cache(maxsize=8192)
def _written(when: date, pattern: str, language: str | None) -> str:
    if language is None:
        return date_format(when, pattern)
    with override(language):
        return date_format(when, pattern)


@register.filter
def ordinal(number: int) -> str:
    """Return 1st, 2nd, 3rd, 11th."""
    return _ordinal(number, get_language())


@lru_cache(maxsize=512)
def _ordinal(number: int, _language: str | None) -> str:
    return str(humanize.ordinal(number))


@register.filter
def surface(code: str | None) -> str:
    """Return a surface as a word, a dash for none."""
    return str(_SURFACES.get(code or "", code or "–"))


@register.filter
def finish(run: Mapping[str, Any]) -> str:
    """Return where a run ended: 2nd of 11, dead heat 1st of 8, pulled up."""
    if run["position"] is None:
        return str(_NOT_PLACED.get(run["outcome"], run["outcome"]))
    place = ordinal(run["position"])
    told = {"place": place, "runners": run.get("runners")}
    if not told["runners"]:
        return _("dead heat %(place)s") % told if run["dead_heat"] else place
    return _("dead heat %(place)s of %(runners)s") % told if run["dead_heat"] else _("%(place)s of %(runners)s") % told


@register.filter
def lengths(number: float | None) -> str:
    """Return a distance behind the winner in words up to a neck, else in quarter lengths; a dash for none."""
    if number is None:
        return "–"
    return _named(number) or _counted(number)


@register.filter
def by_lengths(number: float) -> str:
    """Return a distance with its word: a neck, ½ length, 2¾ lengths."""
    told = {"lengths": _counted(number)}
    count = 1 if number < 1.125 else max(2, ceil(number))
    return _named(number) or ngettext("%(lengths)s\u00a0length", "%(lengths)s\u00a0lengths", count) % told


def _named(number: float) -> str:
    return next((str(words) for limit, words in _SHORT if number < limit), "")


def _counted(number: float) -> str:
    whole, quarters = divmod(round(max(number, 0.5) * 4), 4)
    return (str(whole) if whole else "") + _QUARTERS[quarters]


@register.filter
def beaten(run: Mapping[str, Any]) -> str:
    """Return how far a run was beaten, "won" for a winner, a dash where it has no position."""
    return _("won") if run["position"] == 1 else lengths(run["beaten_lengths"])


@register.filter
def clock(seconds: float | None) -> str:
    """Return a time as 1:36.05, a dash for none."""
    if seconds is None:
        return "–"
    minutes, rest = divmod(round(seconds * 100), 6000)
    return f"{minutes}:{rest / 100:05.2f}" if minutes else f"{rest / 100:.2f}"
