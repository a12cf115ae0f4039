"""A horse's page, ready for its template."""

from pathlib import Path
from typing import Any, Final

from django.utils.functional import Promise
from django.utils.translation import get_language, gettext_lazy

from upsides.books.models import Inside
from upsides.books.queries.horse import Shown
from upsides.books.queries.moments import Moment
from upsides.books.queries.trips import Trip, trips
from upsides.books.queries.visitors import Visitor, opened
from upsides.web.horses.sentences import declare_words, identity, mark_lines, place_words
from upsides.web.races.clash_words import clash_words
from upsides.web.races.sections import late_words, sections
from upsides.web.shell.access import may_open
from upsides.web.string.pictures import curves
from upsides.web.string.sentences import about_horse, unnamed_words, who
from upsides.web.trip.pictures import small_curve
from upsides.web.trip.sentences import about_trip

WAYS: Final[tuple[tuple[str, str | Promise], ...]] = (
    ("horse_trip", gettext_lazy("Trip")),
    ("horse_call", gettext_lazy("Your call")),
    ("horse_condition", gettext_lazy("Condition")),
    ("horse_plan", gettext_lazy("Work to come")),
    ("horse_stalls", gettext_lazy("Stalls")),
    ("horse_races", gettext_lazy("Races")),
    ("horse_works", gettext_lazy("Works")),
    ("shape", gettext_lazy("Shape")),
    ("horse_pedigree", gettext_lazy("Pedigree")),
    ("legs", gettext_lazy("Legs")),
    ("bloods", gettext_lazy("Bloods")),
    ("medicines_of_horse", gettext_lazy("Medicines")),
    ("contacts", gettext_lazy("Contacts")),
    ("ration", gettext_lazy("Feed")),
    ("pictures", gettext_lazy("Pictures")),
    ("horse_about", gettext_lazy("Change")),
)
"""The other pages about a horse, each shown to those who may open it."""


def ways(shown: Shown, who: Visitor) -> list[tuple[str, str]]:
    """Return the other pages about a horse that a visitor may open; trip, condition, plans where these are open."""
    closed = set() if shown.open else {"horse_trip", "horse_condition", "horse_call"}
    if shown.horse.pk not in opened(who, Inside.PLANS):
        closed.add("horse_plan")
    return [(name, str(words)) for name, words in WAYS if may_open(name, who.roles) and name not in closed]


def trip_of(library: Path, moment: Moment, shown: Shown) -> Trip | None:
    """Return what is thought of a horse's trip; None where nothing is, or it is not open to the visitor."""
    found, _ = trips(library, moment, [shown.horse] if shown.open and shown.known.as_of else [])
    return found.get(shown.horse.pk)


def horse_page(shown: Shown, trip: Trip | None) -> dict[str, Any]:
    """Return what the template needs."""
    return {
        "trip": about_trip(trip) if trip else "",
        "trip_curve": small_curve(trip, get_language()) if trip else "",
        "shown": shown,
        "who": who(shown.age, shown.horse) if shown.horse.named else unnamed_words(shown.age, shown.horse.sex),
        "sentence": about_horse(shown),
        "curves": curves(shown),
        "runs": [run | {"sections": sections(run), "late": late_words(run)} for run in shown.runs],
        "told": list(dict.fromkeys((key, clash_words(one)) for key, listed in shown.told.items() for one in listed)),
        "diary": shown.diary,
    } | _kept(shown)


def _kept(shown: Shown) -> dict[str, Any]:
    """Return what the books keep of a horse; nothing for owners."""
    if shown.book is None:
        return {}
    raced = bool(shown.runs)
    away = shown.place is not None and shown.place.to != "training"
    return {
        "where": place_words(shown.place) if away else "",
        "identity": identity(shown.horse),
        "marks": mark_lines(shown.book),
        "cautions": shown.book.cautions_now,
        "to_declare": [declare_words(one, raced=raced)[0] for one in shown.book.to_tell],
    }
