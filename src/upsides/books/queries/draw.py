"""What a stall is worth at a start, by the fit that answers at a moment; and from where races start."""

from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

import polars as pl

from upsides.books.queries.moments import Moment
from upsides.books.queries.results import State, state_of
from upsides.books.queries.yard_rules import yard_rules
from upsides.errors import UpsidesError
from upsides.ratings.kept_fits import KeptFit, kept_fit

if TYPE_CHECKING:
    from upsides.ratings.draw.fitting import DrawFit
    from upsides.ratings.draw.worth import DrawAnswer


@dataclass(frozen=True, slots=True)
class Place:
    """From where races were run: course, surface, metres, and how many of them."""

    course: str
    surface: str
    distance_m: float
    races: int


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of the draw: a start, and what else it leans on; "" where that is not said."""

    course: str
    distance_m: float
    surface: str = ""
    runners: int = 12
    going: str = ""
    bend: str = ""


def draw_of(folder: Path, moment: Moment, asked: Asked) -> "DrawAnswer":
    """Return what each stall is worth.

    Raises:
        UpsidesError: there is no fit, or none of the draw was kept with it.
    """
    from upsides.ratings.draw.worth import Start, draw_at

    fit = _read(kept_fit(folder, moment.day))
    start = Start(asked.course, asked.distance_m, asked.surface, asked.going, "", asked.runners, asked.bend)
    return draw_at(fit, start, yard_rules(folder).overrides)


@lru_cache(maxsize=2)
def _read(kept: KeptFit) -> "DrawFit":
    from upsides.ratings.draw.kept import read_draw

    return read_draw(kept.folder.parents[1], kept.as_of)


def places_raced(folder: Path, moment: Moment) -> tuple[Place, ...]:
    """Return from where races were run before the moment's day, by course and distance; nothing where none is held."""
    try:
        return _places(state_of(folder), moment.day)
    except UpsidesError:
        return ()


@lru_cache(maxsize=4)
def _places(state: State, before: date) -> tuple[Place, ...]:
    races = state.library().races(before).filter(pl.col("code").fill_null("flat") == "flat")
    at = ("course", "surface", "distance_m")
    rows = races.select(at).drop_nulls(["course", "distance_m"]).group_by(at).len().sort(at).collect()
    return tuple(Place(course, surface or "", far, count) for course, surface, far, count in rows.iter_rows())
