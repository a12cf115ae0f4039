"""Limits of mornings that stand in the way of the routine, or that orders go beyond, in sentences."""

from collections.abc import Sequence
from datetime import date

from django.utils.formats import date_format
from django.utils.translation import gettext as _


def tight_words(tight: Sequence[tuple[date, str, str, int, int]]) -> list[str]:
    """Return each as a sentence: the day, how many horses the morning takes, and how many the routine asks for."""
    return [_one(*one) for one in tight]


def _one(day: date, kind: str, gallop: str, most: int, asks: int) -> str:
    told = {"day": date_format(day, "D j M"), "most": most, "asks": asks, "gallop": gallop}
    if kind == "workers":
        return _("%(day)s: %(most)s in fast work, as many as the morning takes; the routine asks for %(asks)s.") % told
    if kind == "riders":
        return _("%(day)s: %(most)s ridden, as many as riders are there for; the routine asks for %(asks)s.") % told
    return _("%(day)s: %(most)s on %(gallop)s, as many as it takes; the routine asks for %(asks)s.") % told


def beyond_words(over: Sequence[tuple[date, str, str, int, int]]) -> list[str]:
    """Return each as a sentence: the day, how many horses are ordered, and how many the morning takes."""
    return [_over(*one) for one in over]


def _over(day: date, kind: str, gallop: str, most: int, has: int) -> str:
    told = {"day": date_format(day, "D j M"), "most": most, "has": has, "gallop": gallop}
    if kind == "workers":
        return _("%(day)s: %(has)s in fast work, where the morning takes %(most)s.") % told
    if kind == "riders":
        return _("%(day)s: %(has)s ridden, where riders are there for %(most)s.") % told
    return _("%(day)s: %(has)s on %(gallop)s, where it takes %(most)s.") % told
