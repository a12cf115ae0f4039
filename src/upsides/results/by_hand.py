"""Results that people wrote down after a race, until a table brings the official ones.

They stand in the library as a source of their own, so whatever reads runs reads them too. A run that any table holds of
the horse on the same day takes its place, in the same commit that brings it; one of ours that a table's race lacks
stands in that race, under this source, so that one race has one row (same_race.py).
"""

from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Final

import polars as pl
from deltalake import DeltaTable

from upsides.results import tables
from upsides.results.library import Library
from upsides.results.lock import writing
from upsides.results.same_race import joined, read_tables
from upsides.results.settling import digest

SOURCE: Final = "by_hand"
OURS: Final = "diary"
"""What `file` says of the runs of our own horses; of a horse beside them, which only its name is known of, nothing."""
_WHERE: Final = f"source = '{SOURCE}'"


def is_by_hand(race_key: str) -> bool:
    """Return whether a race was written down by hand."""
    return race_key.startswith(f"{SOURCE}:")


def keep(
    library: Library, races: pl.DataFrame, runs: pl.DataFrame, down: Mapping[str, Collection[str]] | None = None
) -> bool:
    """Let the library hold these results by hand and no others; return whether anything changed.

    Args:
        library: where they go; it is refreshed.
        races: of the schema's RACES at least race_key, race_id and date.
        runs: of the schema's RUNS at least race_key, source_horse, date, outcome; `file` is OURS for horses of ours.
        down: keys of horses of ours that were down for a race, by its key, so that a table's race is told by them.

    Raises:
        LibraryBusyError: another process is writing.
    """
    folder = library.folder
    with writing(folder):
        library.refresh()
        wanted, starters = _filled(races, "races"), _filled(runs, "runs")
        told = read_tables(
            wanted["date"], library.table("races"), library.table("runs"), library.table("links").collect(), SOURCE
        )
        wanted, starters = joined(wanted, starters, told, OURS, down or {})
        wanted = wanted.drop("digest").join(digest(wanted, starters), "race_key", how="left")
        if _holds(library, wanted, starters):
            return False
        tables.undo_unpinned(folder, library.pins)
        _write(folder, wanted, starters)
        tables.write_pins(folder, tables.versions(folder))
        library.refresh()
    return True


def _holds(library: Library, races: pl.DataFrame, runs: pl.DataFrame) -> bool:
    """Return whether the library holds these races and runs by hand and no others."""
    own, key = pl.col("source") == SOURCE, ["race_key", "source_horse"]
    held = library.table("races").filter(own).select("race_key", "digest").collect()
    if not held.sort("race_key").equals(races.select("race_key", "digest").sort("race_key")):
        return False
    ran = library.table("runs").filter(own).select(tables.SCHEMAS["runs"].names()).collect()
    return ran.sort(key).equals(runs.sort(key))


def give_way(folder: Path) -> None:
    """Drop what stands by hand that a table has brought, and let the rest stand in its race; for a commit under way."""
    runs, races = (_newest(folder, name).filter(pl.col("source") == SOURCE).collect() for name in ("runs", "races"))
    if runs.is_empty():
        return
    links = _newest(folder, "links").collect()
    told = read_tables(runs["date"], _newest(folder, "races"), _newest(folder, "runs"), links, SOURCE)
    wanted, starters = joined(races, runs, told, OURS, {})
    if wanted.height < races.height or starters.height < runs.height:
        wanted = wanted.drop("digest").join(digest(wanted, starters), "race_key", how="left")
        _write(folder, wanted, starters)


def _write(folder: Path, races: pl.DataFrame, runs: pl.DataFrame) -> None:
    tables.replace_where(folder, "races", races, _WHERE)
    tables.replace_where(folder, "runs", runs, _WHERE)
    tables.replace_where(folder, "horses", _horses(folder, runs), _WHERE)


def _horses(folder: Path, runs: pl.DataFrame) -> pl.DataFrame:
    """Return rows of those of ours that no table names; the others have theirs already."""
    ours = runs.filter(pl.col("file") == OURS)
    named = _newest(folder, "horses").filter(pl.col("source") != SOURCE).select("source_horse")
    known = named.filter(pl.col("source_horse").is_in(ours["source_horse"].implode())).collect()["source_horse"]
    fresh = ours.filter(~pl.col("source_horse").is_in(known.implode())).sort("date").group_by("source_horse").agg(
        pl.col("horse_name").last().alias("name"), pl.col("foaled", "sex").last(),
        pl.col("date").first().alias("first_run"), pl.col("date").last().alias("last_run"), pl.len().alias("runs"),
    )  # fmt: skip
    return _filled(fresh, "horses")


def _filled(frame: pl.DataFrame, name: str) -> pl.DataFrame:
    """Return a frame with the columns of a table; those that it lacks are empty."""
    if "date" in frame.columns:
        frame = frame.with_columns(year=pl.col("date").dt.year())
    columns = frame.with_columns(source=pl.lit(SOURCE)).columns
    return frame.with_columns(source=pl.lit(SOURCE)).select(
        (pl.col(column) if column in columns else pl.lit(None)).cast(kind).alias(column)
        for column, kind in tables.SCHEMAS[name].items()
    )


def _newest(folder: Path, name: str) -> pl.LazyFrame:
    return tables.scan(folder, name, DeltaTable(tables.table_path(folder, name)).version())
