"""Trips, and ways between trips, in the words that the trade uses."""

from functools import lru_cache
from typing import Final

from django.utils.functional import Promise
from django.utils.translation import get_language, gettext_lazy
from django.utils.translation import gettext as _

from upsides.trade.distance import Distance

KINDS: Final[dict[str, str | Promise]] = {
    "sprinter": gettext_lazy("Sprinter"),
    "seven-furlong-to-miler": gettext_lazy("Seven furlongs to a mile"),
    "middle distance": gettext_lazy("Middle distance"),
    "stayer": gettext_lazy("Stayer"),
}
"""What kinds of horses there are."""

PIECES: Final[dict[str, str | Promise]] = {
    "family": gettext_lazy("its family"),
    "gene": gettext_lazy("the gene"),
    "shape": gettext_lazy("its shape"),
    "entries": gettext_lazy("where people have run it"),
    "runs": gettext_lazy("its runs"),
    "sections": gettext_lazy("how it finished"),
    "measures": gettext_lazy("its speed in work and what riders said"),
}
"""The pieces of evidence."""

_SHARES: Final = (
    (0.03, gettext_lazy("next to nothing")),
    (0.075, gettext_lazy("a twentieth")),
    (0.15, gettext_lazy("a tenth")),
    (0.225, gettext_lazy("a fifth")),
    (0.29, gettext_lazy("a quarter")),
    (0.42, gettext_lazy("a third")),
    (0.58, gettext_lazy("half")),
    (0.7, gettext_lazy("two thirds")),
    (0.85, gettext_lazy("three quarters")),
    (2.0, gettext_lazy("nearly all")),
)


def trip_words(furlongs: float) -> str:
    """Return a trip to the nearest half furlong: 5f, 7½f, 1m, 1m2f."""
    return _halves(round(furlongs * 2))


@lru_cache(maxsize=128)
def _halves(halves: int) -> str:
    return Distance.from_furlongs(max(1, halves) / 2).text("halves")


def between_words(low: float, high: float) -> str:
    """Return a range in short, for columns: 6f–7½f, or one trip where both are it."""
    return _between(trip_words(low), trip_words(high), get_language())


@lru_cache(maxsize=2048)
def _between(low: str, high: str, _language: str | None) -> str:
    return low if low == high else _("%(low)s–%(high)s") % {"low": low, "high": high}


def way_words(furlongs: float) -> str:
    """Return a way to the nearest half furlong: half a furlong, a furlong, 1½ furlongs; empty for next to none."""
    halves = round(abs(furlongs) * 2)
    if not halves:
        return ""
    if halves <= 2:
        return (_("half a furlong"), _("a furlong"))[halves - 1]
    number = f"{halves // 2}{'½' if halves % 2 else ''}"
    return _("%(number)s furlongs") % {"number": number}


def share_words(share: float) -> str:
    """Return a share as people say it: a third, half, nearly all."""
    return next(str(words) for limit, words in _SHARES if share < limit)


def in_a_hundred(chance: float) -> int:
    """Return a chance as so many in 100, never 0 and never 100."""
    return min(99, max(1, round(100 * chance)))
