"""Reads from the library of results. What is kept in the process is of the yard's own horses, or of one race."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import Any

import polars as pl

from upsides.results.by_hand import SOURCE
from upsides.results.library import Library
from upsides.results.schema import STARTED

_RACE = ("race_key", "course", "title", "surface", "distance_m", "going", "runners", "race_class", "section_m")
_RUN = (
    "race_key",
    "source",
    "horse_key",
    "date",
    "outcome",
    "position",
    "dead_heat",
    "draw",
    "carried_lb",
    "beaten_lengths",
    "time_s",
    "section_s",
    "section_position",
    "section_behind",
    "jockey",
    "official_rating",
)


@dataclass(frozen=True, slots=True)
class State:
    """The library as it stands: what is kept of it holds as long as this does.

    Args:
        folder: the library's folder.
        pins: the version of each of its tables.
    """

    folder: Path
    pins: tuple[tuple[str, int], ...]

    def library(self) -> Library:
        """Open the library in this state."""
        return Library(self.folder, dict(self.pins))


@dataclass(frozen=True, slots=True, eq=False)
class Raced:
    """What a horse had done on the racecourse before a day.

    Args:
        runs: how many starts.
        last: the last of them, columns of `starts_of`.
    """

    runs: int
    last: dict[str, Any]


def state_of(library: Path) -> State:
    """Return the library as it stands.

    Raises:
        UpsidesError: there is none, or it cannot be read.
    """
    opened = Library.open(library)
    return State(opened.folder, tuple(sorted(opened.pins.items())))


@lru_cache(maxsize=4)
def starts_of(state: State, horse_keys: frozenset[str]) -> pl.DataFrame:
    """Return every start of some horses, latest first, each with its race.

    Returns:
        Of the schema's runs race_key, source, horse_key, date, outcome, position, dead_heat, draw, carried_lb,
        beaten_lengths, time_s, section_s, section_position, section_behind, jockey, official_rating; of its races
        course, title, surface, distance_m, going, runners, race_class, section_m.
    """
    store, keys = state.library(), list(horse_keys)
    names = store.horses().filter(pl.col("horse_key").is_in(keys)).select("source_horse").collect()["source_horse"]
    ours, started = pl.col("source_horse").is_in(names.to_list()), pl.col("outcome").is_in(STARTED)
    runs = store.runs().filter(ours, started).select(_RUN).collect()
    raced = pl.col("race_key").is_in(runs["race_key"].unique().to_list())
    races = store.races().filter(raced).select(_RACE).collect()
    return runs.join(races, on="race_key", how="left").sort("date", "race_key", descending=True)


@lru_cache(maxsize=8)
def raced(state: State, horse_keys: frozenset[str], before: date) -> Mapping[str, Raced]:
    """Return what some horses had done before a day; those that had not run are not in it."""
    starts = starts_of(state, horse_keys).filter(pl.col("date") < before)
    counts = dict(starts.group_by("horse_key").len().iter_rows())
    last = starts.unique("horse_key", keep="first", maintain_order=True).drop("section_s", "section_m")
    return {row["horse_key"]: Raced(counts[row["horse_key"]], row) for row in last.to_dicts()}


@lru_cache(maxsize=64)
def race(state: State, race_key: str) -> tuple[dict[str, Any], pl.DataFrame] | None:
    """Return one race's row and its runs in order of finish, those by hand among them; None when it is not held."""
    store, source = state.library(), pl.col("source") == race_key.partition(":")[0]
    told = source | (pl.col("source") == SOURCE)
    found = store.races().filter(source, pl.col("race_key") == race_key).collect()
    if found.is_empty():
        return None
    row = found.row(0, named=True)
    runs = store.runs().filter(told, pl.col("date") == row["date"], pl.col("race_key") == race_key).collect()
    return row, runs.sort("position", "beaten_lengths", "saddlecloth", nulls_last=True)


def keyed(library: Path, string: pl.DataFrame) -> pl.DataFrame:
    """Return horses listed by `source_horse` with the library's `horse_key`, or their own number."""
    known = Library.open(library).horses().select("source_horse", "horse_key").collect()
    joined = string.join(known, on="source_horse", how="left")
    return joined.with_columns(pl.col("horse_key").fill_null(pl.col("source_horse")))
