"""Limits of mornings that stand in the way of the routine, or that orders go beyond, in sentences."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Final

from django.utils.formats import date_format
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

TIGHT: Final[Mapping[str, Promise]] = {
    "workers": _("%(day)s: %(most)s in fast work, as many as the morning takes; the routine asks for %(wanted)s."),
    "riders": _("%(day)s: %(most)s ridden, as many as riders are there for; the routine asks for %(wanted)s."),
    "slots": _("%(day)s: %(most)s on %(gallop)s, as many as it takes; the routine asks for %(wanted)s."),
}
BEYOND: Final[Mapping[str, Promise]] = {
    "workers": _("%(day)s: %(wanted)s in fast work, where the morning takes %(most)s."),
    "riders": _("%(day)s: %(wanted)s ridden, where riders are there for %(most)s."),
    "slots": _("%(day)s: %(wanted)s on %(gallop)s, where it takes %(most)s."),
}

Limits = Sequence[tuple[date, str, str, int, int]]
"""Of each its day, its kind, its gallop, how many horses it lets through, and how many there would be."""


def tight_words(tight: Limits) -> list[str]:
    """Return each as a sentence: the day, how many horses the morning takes, and how many the routine asks for."""
    return _said(TIGHT, tight)


def beyond_words(over: Limits) -> list[str]:
    """Return each as a sentence: the day, how many horses are ordered, and how many the morning takes."""
    return _said(BEYOND, over)


def _said(sentences: Mapping[str, Promise], limits: Limits) -> list[str]:
    return [
        str(sentences[kind]) % {"day": date_format(day, "D j M"), "gallop": gallop, "most": most, "wanted": wanted}
        for day, kind, gallop, most, wanted in limits
    ]
