"""Values of the trade in words, for templates."""

from datetime import date
from typing import Any

from django import template

register = template.Library()

_QUARTERS = ("", "¼", "½", "¾")
_SHORT = ((0.07, "a nose"), (0.15, "a short head"), (0.25, "a head"), (0.4, "a neck"))


@register.filter
def lb(pounds: float | None) -> str:
    """Return pounds to the nearest whole one, a dash for none."""
    return "–" if pounds is None else f"{round(pounds)}"


@register.filter
def day(when: date) -> str:
    """Return a date as 3 May 2026."""
    return f"{when.day}\u00a0{when:%B}\u00a0{when:%Y}"


@register.filter
def short_day(when: date) -> str:
    """Return a date as 3 May 26, for columns."""
    return f"{when.day}\u00a0{when:%b}\u00a0{when:%y}"


@register.filter
def ordinal(number: int) -> str:
    """Return 1st, 2nd, 3rd, 11th."""
    teen = number % 100 in {11, 12, 13}
    return f"{number}{'th' if teen else {1: 'st', 2: 'nd', 3: 'rd'}.get(number % 10, 'th')}"


@register.filter
def finish(run: dict[str, Any]) -> str:
    """Return where a run ended: 2nd of 11, dead heat 1st of 8, pulled up."""
    if run["position"] is None:
        return str(run["outcome"]).replace("_", " ")
    of = f" of {run['runners']}" if run.get("runners") else ""
    return f"{'dead heat ' if run['dead_heat'] else ''}{ordinal(run['position'])}{of}"


@register.filter
def lengths(number: float | None) -> str:
    """Return a distance behind the winner in words up to a neck, else in quarter lengths; a dash for none."""
    if number is None:
        return "–"
    for limit, words in _SHORT:
        if number < limit:
            return words
    whole, quarters = divmod(round(max(number, 0.5) * 4), 4)
    return (str(whole) if whole else "") + _QUARTERS[quarters]


@register.filter
def by_lengths(number: float) -> str:
    """Return a distance with its word: a neck, ½ length, 2¾ lengths."""
    words = lengths(number)
    return words if words.startswith("a ") else f"{words}\u00a0length{'' if number < 1.125 else 's'}"


@register.filter
def beaten(run: dict[str, Any]) -> str:
    """Return how far a run was beaten, "won" for a winner, a dash where it has no position."""
    return "won" if run["position"] == 1 else lengths(run["beaten_lengths"])


@register.filter
def clock(seconds: float | None) -> str:
    """Return a time as 1:36.05, a dash for none."""
    if seconds is None:
        return "–"
    minutes, rest = divmod(round(seconds * 100), 6000)
    return f"{minutes}:{rest / 100:05.2f}" if minutes else f"{rest / 100:.2f}"
