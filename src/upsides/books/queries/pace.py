"""Which runners of a race are likely to be in front early, by where they were early in their past races."""

from dataclasses import dataclass
from pathlib import Path
from typing import Final

import polars as pl

from upsides.books.queries.carded import keys_named
from upsides.books.queries.moments import Moment
from upsides.books.queries.results import State, starts_of, state_of
from upsides.errors import UpsidesError
from upsides.ratings.sections import run_sections
from upsides.results.race_cards import CardRunner, runner_called

LAST: Final = 8
"""Timed runs of a horse that are looked at, the latest."""
IN_FRONT: Final = 0.15
"""Share of the field up to which a horse counts as in front early: the first two of a dozen."""
FEWEST: Final = 2
"""Timed runs from which on a horse's place early is told."""


@dataclass(frozen=True, slots=True)
class Early:
    """Where a horse was early in its last timed races.

    Args:
        name: of the runner.
        ours: whether it is one of the yard's.
        runs: timed races that were looked at; 0 where the library holds none of it.
        front: of them those in which it was in front early.
        place: its place early on average, 0 in front to 1 last; None where nothing is known.
        twice: whether the library knows more than one horse of the name.
    """

    name: str
    ours: bool
    runs: int = 0
    front: int = 0
    place: float | None = None
    twice: bool = False

    @property
    def known(self) -> bool:
        """Return whether it has been timed often enough."""
        return self.place is not None and self.runs >= FEWEST


def early_places(library: Path, moment: Moment, card: tuple[CardRunner, ...], ours: dict[str, str]) -> list[Early]:
    """Return where each runner of a card was early, those most in front first, those not known last.

    Args:
        library: folder of the library.
        moment: when to look from: results of its day and later are not known.
        card: the runners.
        ours: library keys of the yard's own runners, by their names.
    """
    mine = {runner.name: name for name in ours if (runner := runner_called(card, name))}
    names = {mine.get(one.name, one.name): ours.get(mine.get(one.name, ""), "") for one in card} | ours
    try:
        state = state_of(library)
        keys = {name: (key,) if key else keys_named(state, name, moment.day) for name, key in names.items()}
        found = _places(state, frozenset(key for some in keys.values() for key in some), moment)
    except UpsidesError:
        return [Early(name, bool(key)) for name, key in names.items()]
    told = [_early(name, bool(names[name]), keys[name], found) for name in names]
    return sorted(told, key=lambda one: (not one.known, one.place if one.place is not None else 1.0, one.name))


def _early(name: str, ours: bool, keys: tuple[str, ...], found: pl.DataFrame) -> Early:  # noqa: FBT001 -- a field
    if len(keys) != 1:
        return Early(name, ours, twice=len(keys) > 1)
    places = found.filter(pl.col("horse_key") == keys[0]).head(LAST)["early_place"]
    if places.is_empty():
        return Early(name, ours)
    front = int((places <= IN_FRONT).sum())
    return Early(name, ours, len(places), front, float(places.mean()))  # type: ignore[arg-type]  # it is not empty


def _places(state: State, keys: frozenset[str], moment: Moment) -> pl.DataFrame:
    """Return horse_key and early_place of timed starts before the moment's day, latest first."""
    starts = starts_of(state, keys).filter(pl.col("date") < moment.day)
    if starts.is_empty():
        return pl.DataFrame(schema={"horse_key": pl.String, "early_place": pl.Float64})
    races = starts.select("race_key", "distance_m", "section_m", "runners").unique("race_key")
    runs = starts.drop("distance_m", "section_m", "runners").with_columns(source_horse=pl.col("horse_key"))
    parts = run_sections(races, runs)
    found = starts.select("horse_key").with_columns(parts["early_place"])
    return found.filter(pl.col("early_place").is_not_null())
