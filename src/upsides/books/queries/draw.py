"""What a stall is worth at a start, by the fit that answers at a moment; and from where races start."""

from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from upsides.books.queries.moments import Moment
from upsides.books.queries.results import State, state_of
from upsides.books.queries.yard_rules import yard_rules
from upsides.errors import UpsidesError
from upsides.ratings.draw.starts import Asked, Place, places_of
from upsides.ratings.kept_fits import KeptFit, kept_fit

if TYPE_CHECKING:
    from upsides.ratings.draw.fitting import DrawFit
    from upsides.ratings.draw.worth import DrawAnswer


def draw_of(folder: Path, moment: Moment, asked: Asked) -> "DrawAnswer":
    """Return what each stall is worth.

    Raises:
        UpsidesError: there is no fit, or none of the draw was kept with it.
    """
    from upsides.ratings.draw.worth import Start, draw_at

    fit = _read(kept_fit(folder, moment.day))
    start = Start(asked.course, asked.distance_m, asked.surface, asked.going, asked.rail, asked.runners, asked.bend)
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
    return places_of(state.library().races(before))
