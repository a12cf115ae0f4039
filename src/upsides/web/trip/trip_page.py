"""The page about a horse's trip, ready for its template."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from upsides.books.queries.horse_trip import Answered, HorseTrip, horse_trip
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import Visitor
from upsides.web.trip import sentences
from upsides.web.trip.asking import Asked
from upsides.web.trip.by_distance import by_distance
from upsides.web.trip.family import about_family, parents, reliance
from upsides.web.trip.gene_page import about_tests
from upsides.web.trip.pictures import curves, figures
from upsides.web.trip.words import KINDS, PIECES, trip_words

TOLD: Final = 3
"""Things to try that are told."""

CONFIDENCE: Final[Mapping[str, str | Promise]] = {
    "high": gettext_lazy("looked up"),
    "medium": gettext_lazy("looked up in part"),
    "low": gettext_lazy("doubtful"),
    "memory": gettext_lazy("from memory, not looked up"),
    "derived": gettext_lazy("worked out from other figures"),
}


@dataclass(frozen=True, slots=True)
class Switch:
    """A piece of evidence that can be left out.

    Args:
        piece: its name in the address.
        words: what it is called.
        on: whether it is used.
        moved: which way it moved the answer.
        narrows: what it did to the range.
    """

    piece: str
    words: str
    on: bool
    moved: str
    narrows: str


@dataclass(frozen=True, slots=True)
class Figure:
    """What is expected over a trip.

    Args:
        trip: in words.
        lb: the middle.
        low, high: between which it lies four times in five.
        asked: whether it was typed.
    """

    trip: str
    lb: int
    low: int
    high: int
    asked: bool


def told_of(library: Path, who: Visitor, moment: Moment, number: int, asked: Asked) -> dict[str, Any] | None:
    """Return what the template needs, None where the visitor may see no such horse."""
    what_if = [asked.furlongs] if asked.furlongs else []
    shown = horse_trip(library, who, moment, number, without=asked.without, what_if=what_if)
    return trip_page(shown, asked) if shown else None


def trip_page(shown: HorseTrip, asked: Asked) -> dict[str, Any]:
    """Return what the template needs; `sentence` is empty where nothing is shown."""
    page: dict[str, Any] = {"shown": shown, "asked": asked, "sentence": "", "available": ()}
    if shown.answered is None:
        return page
    return page | _answer(shown.answered) | {
        "available": shown.answered.available,
        "switches": _switches(shown.answered),
        "disagreements": _disagreements(shown.answered),
        "expected": _figures(shown.answered, asked.furlongs),
        "typed": _typed(shown.answered, asked.furlongs),
        "figures": figures(shown.answered.figures, shown.runs, _about_figures(shown)),
        "by_distance": by_distance(shown.runs),
        "late": any(line.late for line in by_distance(shown.runs)),
        "family": about_family(shown.family) if shown.family else "",
        "reliance": reliance(shown.family) if shown.family else "",
        "parents": parents(shown.family) if shown.family else [],
        "tests": about_tests(shown.tests),
        "shape": _about_shape(shown.answered.shape),
        "next": _next(shown.answered.value["next_best"]),
        "rules": [(row, CONFIDENCE.get(row.confidence, row.confidence)) for row in shown.rules],
    }  # fmt: skip


def _disagreements(answered: Answered) -> list[str]:
    """Return the pieces that disagree most; one that does next to nothing to the answer disagrees with nobody."""
    said = {
        one["name"]
        for one in answered.value["evidence"]
        if max(abs(one["pull_furlongs"]), abs(one["information"])) >= sentences.WORTH_SAYING
    }
    found = [one for one in answered.value["disagreements"] if {one["shorter"], one["longer"]} <= said]
    return [sentences.disagreement(one, list(KINDS)) for one in found[:2]]


def _answer(answered: Answered) -> dict[str, Any]:
    """Return the answer itself: sentence, how sure, curve."""
    value, left = answered.value, answered.value["without"]
    return {
        "sentence": sentences.about_trip(answered.trip),
        "range": sentences.about_range(answered.trip, value["kinds"]),
        "rests_on": sentences.rests_on(answered.available, [p for p in PIECES if p in left], value["runs"]),
        "without": bool(left),
        "curves": curves(answered.trip, answered.whole if left else None),
    }


def _switches(answered: Answered) -> list[Switch]:
    left = answered.value["without"]
    return [
        Switch(
            one["name"],
            str(PIECES[one["name"]]),
            one["name"] not in left,
            sentences.moved(one["pull_furlongs"]),
            sentences.narrows(one["information"]),
        )
        for one in answered.value["evidence"]
    ]


def _figures(answered: Answered, typed: float | None) -> list[Figure]:
    return [
        Figure(
            trip_words(one["furlongs"]), round(one["figure_lb"]), round(one["low_lb"]), round(one["high_lb"]),
            one["furlongs"] == typed,
        )
        for one in answered.value["what_if"]
    ]  # fmt: skip


def _typed(answered: Answered, typed: float | None) -> str:
    """Return what is expected over the trip that was typed; empty where none was."""
    return next((sentences.expected(one) for one in answered.value["what_if"] if one["furlongs"] == typed), "")


def _about_figures(shown: HorseTrip) -> str:
    """Return what the picture of figures shows, for those who cannot see it."""
    told = {"count": len(shown.runs)}
    if not shown.runs:
        return _("What it is expected to run to over each distance. The table holds the numbers.")
    text = ngettext(
        "What it is expected to run to over each distance, with %(count)s run as a mark. The tables hold the numbers.",
        "What it is expected to run to over each distance, with %(count)s runs as marks. The tables hold the numbers.",
        len(shown.runs),
    )
    return text % told


def _about_shape(reading: tuple[float, float, int]) -> str:
    """Return how much shape tells, and who says so."""
    mean, sd, horses = reading
    told = {"mean": f"{mean:.2f}", "sd": f"{sd:.2f}", "count": horses}
    if not horses:
        text = _(
            "How much shape tells of trip is common practice: a correlation of %(mean)s, give or take %(sd)s, until "
            "enough of the yard's own horses have been scored and have run."
        )
        return text % told
    text = ngettext(
        "%(count)s horse of the yard that was scored and has run bears out a correlation of shape and trip of "
        "%(mean)s, give or take %(sd)s.",
        "%(count)s horses of the yard that were scored and have run bear out a correlation of shape and trip of "
        "%(mean)s, give or take %(sd)s.",
        horses,
    )
    return text % told


def _next(found: Sequence[Mapping[str, Any]]) -> list[str]:
    """Return what would tell most, none of what would tell next to nothing."""
    return [sentences.try_next(one) for one in found if one["narrows_furlongs"] >= sentences.WORTH_SAYING][:TOLD]
