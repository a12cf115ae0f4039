"""The pictures of a horse's trip, drawn once as long as the fit stands, for each language."""

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from upsides.books.queries.trips import Trip
from upsides.charts.trip_curve import (
    FEW_TICKS_F,
    LONGEST_F,
    SHORTEST_F,
    SIZES,
    TICKS_F,
    Belief,
    Expected,
    Run,
    Words,
    belief_picture,
    figures_picture,
    small_belief,
)
from upsides.trade.units import FURLONG_M
from upsides.web.shell.templatetags.words import day, finish, metres
from upsides.web.trip.sentences import about_curve
from upsides.web.trip.words import trip_words


def curves(trip: Trip, whole: Trip | None, name: str = "trip") -> dict[str, SafeString]:
    """Return a trip's curve for wide and for narrow screens.

    Args:
        trip: what is shown.
        whole: what everything together says, where something was left out.
        name: what ids begin with.
    """
    return {width: _curve(trip, whole, width, name, get_language()) for width in SIZES}


@lru_cache(maxsize=512)
def _curve(trip: Trip, whole: Trip | None, width: str, name: str, _language: str | None) -> SafeString:
    words = _words(f"{name}-{width}", about_curve(trip), trip_words(trip.best))
    return _safe(belief_picture(_belief(trip), SIZES[width], words, _belief(whole) if whole else None))


@lru_cache(maxsize=512)
def small_curve(trip: Trip, _language: str | None) -> SafeString:
    """Return the small curve of a page that is about more than the trip."""
    words = _words("trip", about_curve(trip), trip_words(trip.best), FEW_TICKS_F)
    return _safe(small_belief(_belief(trip), words))


def figures(
    line: Sequence[Mapping[str, float]], runs: Sequence[Mapping[str, Any]], words: str
) -> dict[str, SafeString]:
    """Return what the horse is expected to run to over each distance, with its runs.

    Args:
        line: expected figures, as `figures_at` gives them.
        runs: columns of `starts_of` and `FIGURES`.
        words: what the picture shows, for those who cannot see it.
    """
    furlongs, middle, low, high = ([one[name] for one in line] for name in _LINE)
    marks = [_mark(run) for run in runs if run["distance_m"] and run["figure_lb"] is not None]
    inside = [mark for mark in marks if SHORTEST_F <= mark.furlongs <= LONGEST_F]
    expected = Expected(furlongs, middle, low, high)
    return {
        width: _safe(figures_picture(expected, inside, size, _words(f"figures-{width}", words, "")))
        for width, size in SIZES.items()
    }


_LINE = ("furlongs", "figure_lb", "low_lb", "high_lb")


def _belief(trip: Trip) -> Belief:
    return Belief(trip.furlongs, trip.share, (trip.low, trip.high), (trip.lowest, trip.highest), trip.best)


def _words(name: str, description: str, mark: str, ticks: Sequence[float] = TICKS_F) -> Words:
    return Words(name, _("Trip"), description, {tick: trip_words(tick) for tick in ticks}, mark)


def _mark(run: Mapping[str, Any]) -> Run:
    told = {
        "day": day(run["date"]),
        "course": run["course"] or "–",
        "trip": metres(run["distance_m"]),
        "finish": finish(run),
        "figure": f"{run['figure_lb']:.0f}",
    }
    words = _("%(day)s, %(course)s, %(trip)s, %(finish)s: %(figure)s lb") % told
    return Run(run["distance_m"] / FURLONG_M, run["figure_lb"], run["surface"] or "", words)


def _safe(svg: str) -> SafeString:
    return mark_safe(svg)  # noqa: S308 (drawn by charts, which escapes the words in it)
