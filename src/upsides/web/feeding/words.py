"""Amounts of feed, what changed, and what was left, in words."""

from collections.abc import Iterable
from datetime import date
from typing import Final

from django.utils.formats import date_format, number_format
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from upsides import feeding
from upsides.books.diary.seen import LEFT, FeedLeft
from upsides.books.queries.feeding import Left

WORKS: Final[dict[str, Promise]] = {
    "minimum": gettext_lazy("no work, a quiet horse"),
    "average": gettext_lazy("no work"),
    "elevated": gettext_lazy("no work, a restless horse"),
    "light": gettext_lazy("light work"),
    "moderate": gettext_lazy("moderate work"),
    "heavy": gettext_lazy("heavy work"),
    "very heavy": gettext_lazy("very heavy work"),
}
"""Classes of work."""
CONFIDENCE: Final[dict[str, Promise]] = {
    "high": gettext_lazy("well"),
    "medium": gettext_lazy("fairly well"),
    "low": gettext_lazy("not well"),
    "memory": gettext_lazy("from memory"),
}
"""How well a figure is known."""


def plain(value: float, places: int = 2) -> str:
    """Return a number as short as it can be written: 2, 1.5, 0.25, 1,200."""
    rounded = round(value, places)
    whole = int(rounded) if rounded == int(rounded) else None
    return number_format(rounded if whole is None else whole, force_grouping=True)


def kg(value: float, places: int = 2) -> str:
    """Return a mass as 1.5 kg."""
    return _("%(kg)s\u00a0kg") % {"kg": plain(value, places)}


def amount(value: float, feed: str) -> str:
    """Return what is given of a feed, or that it is given no more."""
    if not value:
        return _("no %(feed)s") % {"feed": feed}
    return _("%(kg)s\u00a0kg %(feed)s") % {"kg": plain(value), "feed": feed}


def change(line: feeding.Line) -> str:
    """Return how a line differs from the day before; empty where it does not, or nothing was written then."""
    if line.mark == "new":
        return _("new")
    if line.mark in {"more", "less", "stopped"} and line.before is not None:
        return _("was %(kg)s") % {"kg": kg(line.before)}
    return ""


def left_words(left: Left) -> str:
    """Return what a horse left last, and when that was seen."""
    return _("%(left)s, seen %(when)s") % {"left": listed_left(left.what), "when": date_format(left.seen, "D H:i")}


def listed_left(what: FeedLeft) -> str:
    """Return how much was left, and at which feed where that was said."""
    told = {"left": LEFT.get(what.left, what.left), "feed": what.feed}
    return _("%(left)s (%(feed)s)") % told if what.feed else str(told["left"])


def listed(servings: Iterable[feeding.Serving]) -> str:
    """Return servings in one line: what is given at each feed time."""
    by_time: dict[str, list[str]] = {}
    for one in servings:
        by_time.setdefault(one.time, []).append(amount(one.kg, one.feed))
    return "; ".join(
        _("%(time)s: %(feeds)s") % {"time": time, "feeds": ", ".join(each)} for time, each in by_time.items()
    )


def day_words(day: date, today: date) -> str:
    """Return a day as it is called: today, tomorrow, yesterday, or Tue 23 June 2026."""
    after = (day - today).days
    named = {-1: _("yesterday"), 0: _("today"), 1: _("tomorrow")}
    return named.get(after) or date_format(day, "D j F Y")


def short(day: date) -> str:
    """Return a day as 3 May 2026."""
    return date_format(day, "j\u00a0F\u00a0Y")
