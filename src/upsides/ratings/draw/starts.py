"""From where races were run, and which of those starts is meant by what somebody writes."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches

import polars as pl

from upsides.errors import DrawSurfaceError
from upsides.errors.wording import gettext as _
from upsides.results.naming import key_of
from upsides.trade.surface import Surface

NEAR = 0.01
"""How far a trip may stand from one that was run, as a share: 6f is the 1200 m of a course that counts in metres."""
AT = ("course", "surface", "distance_m")


@dataclass(frozen=True, slots=True)
class Place:
    """From where races were run: course, surface, metres, and how many of them.

    Attributes:
        course, surface, distance_m: the start.
        races: how many.
        bend: straight, left or right as most of its races say; "" where none does.
        rails: the rails that its races name.
    """

    course: str
    surface: str
    distance_m: float
    races: int
    bend: str = ""
    rails: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of the draw: a start, and what else it leans on; "" where that is not said."""

    course: str
    distance_m: float
    surface: str = ""
    runners: int = 12
    going: str = ""
    bend: str = ""
    rail: str = ""


@dataclass(frozen=True, slots=True)
class Settled:
    """What is asked, by the library's own names.

    Attributes:
        asked: the start.
        place: what was run there; None where nothing was.
        unknown: what the library does not know of it, a sentence each.
    """

    asked: Asked
    place: Place | None
    unknown: tuple[str, ...]


def places_of(races: pl.LazyFrame) -> tuple[Place, ...]:
    """Return from where flat races were run, by course, surface and distance.

    Args:
        races: of the results schema.
    """
    rows = (
        races.filter(pl.col("code").fill_null("flat") == "flat")
        .select(*AT, "bend", "rail")
        .drop_nulls(["course", "distance_m"])
        .group_by(AT)
        .agg(pl.len(), "bend", pl.col("rail").drop_nulls().unique().sort())
        .sort(AT)
        .collect()
    )
    return tuple(
        Place(course, surface or "", far, count, _most(bends), tuple(rail for rail in rails if rail))
        for course, surface, far, count, bends, rails in rows.iter_rows()
    )


def _most(bends: Iterable[str | None]) -> str:
    counted = Counter(bend for bend in bends if bend)
    return min(counted, key=lambda bend: (-counted[bend], bend), default="")


def settled(asked: Asked, places: Sequence[Place]) -> Settled:
    """Return what is asked by the library's own names, with the surface and the bend of that start.

    Raises:
        DrawSurfaceError: races over the trip are run there on two surfaces, and none is said.
        UnreadableError: the surface is none.
    """
    there = [one for one in places if key_of(one.course) == key_of(asked.course)]
    if asked.surface:
        asked = replace(asked, surface=Surface.parse(asked.surface).value)
    if not there:
        return Settled(asked, None, (_no_course(asked.course, places),))
    near = min((abs(one.distance_m / asked.distance_m - 1) for one in there), default=1.0)
    here = [one for one in there if near <= NEAR and abs(one.distance_m / asked.distance_m - 1) <= near + 1e-9]
    surface = asked.surface or _surface(asked, here or there)
    place = next((one for one in here if one.surface == surface), None)
    named = replace(asked, course=there[0].course, surface=surface)
    if place is None:
        return Settled(named, None, ())
    rail = next((one for one in place.rails if key_of(one) == key_of(asked.rail)), asked.rail)
    named = replace(named, distance_m=place.distance_m, bend=asked.bend or place.bend, rail=rail)
    return Settled(named, place, _no_rail(named, place))


def _surface(asked: Asked, places: Sequence[Place]) -> str:
    found = sorted({one.surface for one in places if one.surface})
    if len(found) > 1:
        raise DrawSurfaceError(places[0].course, asked.distance_m, found)
    return found[0] if found else ""


def _no_course(course: str, places: Sequence[Place]) -> str:
    names = {key_of(one.course): one.course for one in places}
    close = [names[key] for key in get_close_matches(key_of(course), names, n=3)]
    if close:
        return _(
            "The library knows no course called {course} (it has {close}); this is the average of all its courses.",
            course=course,
            close=", ".join(close),
        )
    return _("The library knows no course called {course}; this is the average of all its courses.", course=course)


def _no_rail(asked: Asked, place: Place) -> tuple[str, ...]:
    if not asked.rail or asked.rail in place.rails:
        return ()
    if not place.rails:
        return (_("No race from this start says where the rail stood, so {rail} is not counted.", rail=asked.rail),)
    return (
        _(
            "No race from this start was run with the rail called {rail} (the library has {rails}), so what it does is "
            "not known.",
            rail=asked.rail,
            rails=", ".join(place.rails),
        ),
    )
