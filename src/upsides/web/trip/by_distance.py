"""A horse's runs by distance, in a table."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean
from typing import Any

from django.utils.translation import gettext as _

from upsides.trade.units import FURLONG_M
from upsides.web.trip.words import trip_words


@dataclass(frozen=True, slots=True)
class Line:
    """Runs over about one distance.

    Args:
        trip: to the nearest half furlong, in words.
        runs: how many.
        won: how many of them it won.
        best: the best figure, lb.
        usual: their mean, lb.
        late: how many runs over the same course and trip were slower late; empty where nothing was timed.
    """

    trip: str
    runs: int
    won: int
    best: int
    usual: int
    late: str


def by_distance(runs: Sequence[Mapping[str, Any]]) -> list[Line]:
    """Return runs that have a figure by their distance, the shortest first."""
    found: dict[int, list[Mapping[str, Any]]] = defaultdict(list)
    for run in runs:
        if run["distance_m"] and run["figure_lb"] is not None:
            found[round(2 * run["distance_m"] / FURLONG_M)].append(run)
    return [_line(halves / 2, found[halves]) for halves in sorted(found)]


def _line(furlongs: float, runs: Sequence[Mapping[str, Any]]) -> Line:
    worth = [run["figure_lb"] for run in runs]
    late = [run["late_standing"] for run in runs if run["late_standing"] is not None]
    won = sum(run["position"] == 1 for run in runs)
    return Line(trip_words(furlongs), len(runs), won, round(max(worth)), round(fmean(worth)), late_words(late))


def late_words(standings: Sequence[float]) -> str:
    """Return how many runs over the same course and trip were slower late; empty where nothing was timed."""
    if not standings:
        return ""
    return _("%(share)s in 100") % {"share": round(100 * fmean(standings))}
