"""Reads from the library of results."""

from pathlib import Path

import polars as pl

from upsides.results.library import Library
from upsides.results.schema import STARTED

_RACE = ("race_key", "course", "title", "surface", "distance_m", "going", "runners", "race_class")


def runs_of(library: Path, horse_keys: list[str]) -> pl.DataFrame:
    """Return every start of some horses, latest first, with its race's course, trip, going and field.

    Args:
        library: folder.
        horse_keys: keys of the horses.

    Returns:
        The schema's columns of runs, horse_key, and course, title, surface, distance_m, going, runners,
        race_class.
    """
    store = Library.open(library)
    started = pl.col("outcome").is_in(STARTED)
    runs = store.runs().filter(pl.col("horse_key").is_in(horse_keys), started)
    joined = runs.join(store.races().select(_RACE), on="race_key", how="left")
    return joined.collect().sort("date", descending=True)


def race(library: Path, race_key: str) -> tuple[dict[str, object], pl.DataFrame] | None:
    """Return one race's row and its runs in order of finish, None when the library does not hold it."""
    store = Library.open(library)
    found = store.races().filter(pl.col("race_key") == race_key).collect()
    if found.is_empty():
        return None
    runs = store.runs().filter(pl.col("race_key") == race_key).collect()
    return found.row(0, named=True), runs.sort("position", "beaten_lengths", "saddlecloth", nulls_last=True)


def keyed(library: Path, string: pl.DataFrame) -> pl.DataFrame:
    """Return horses listed by `source_horse` with the library's `horse_key`, or their own number."""
    known = Library.open(library).horses().select("source_horse", "horse_key").collect()
    joined = string.join(known, on="source_horse", how="left")
    return joined.with_columns(pl.col("horse_key").fill_null(pl.col("source_horse")))
