"""Results that people wrote down after a race, until a table brings the official ones.

They stand in the library as a source of their own, so whatever reads runs reads them too. A race that any table holds
with a horse of ours on the same day takes their place, in the same commit that brings it.
"""

from pathlib import Path
from typing import Final

import polars as pl
from deltalake import DeltaTable

from upsides.results import tables
from upsides.results.identity import horse_keys, plain_name
from upsides.results.library import Library
from upsides.results.lock import writing
from upsides.results.settling import digest

SOURCE: Final = "by_hand"
OURS: Final = "diary"
"""What `file` says of the runs of our own horses; of a horse beside them, which only its name is known of, nothing."""
_WHERE: Final = f"source = '{SOURCE}'"


def is_by_hand(race_key: str) -> bool:
    """Return whether a race was written down by hand."""
    return race_key.startswith(f"{SOURCE}:")


def keep(library: Library, races: pl.DataFrame, runs: pl.DataFrame) -> bool:
    """Let the library hold these results by hand and no others; return whether anything changed.

    Args:
        library: where they go; it is refreshed.
        races: of the schema's RACES at least race_key, race_id and date.
        runs: of the schema's RUNS at least race_key, source_horse, date, outcome; `file` is OURS for horses of ours.

    Raises:
        LibraryBusyError: another process is writing.
    """
    folder = library.folder
    with writing(folder):
        library.refresh()
        wanted, starters = _filled(races, "races"), _filled(runs, "runs")
        again = _again(starters, library.table("runs"), library.table("links").collect())
        taken = _races_of_ours(again)
        starters = starters.join(again, on=["race_key", "source_horse"], how="anti")
        wanted, starters = (frame.filter(~pl.col("race_key").is_in(taken.implode())) for frame in (wanted, starters))
        wanted = wanted.drop("digest").join(digest(wanted, starters), "race_key", how="left")
        held = library.table("races").filter(pl.col("source") == SOURCE).select("race_key", "digest").collect()
        if held.sort("race_key").equals(wanted.select("race_key", "digest").sort("race_key")):
            return False
        tables.undo_unpinned(folder, library.pins)
        _write(folder, wanted, starters)
        tables.write_pins(folder, tables.versions(folder))
        library.refresh()
    return True


def give_way(folder: Path) -> None:
    """Drop what stands by hand of races that a table has brought; for a commit that is under way."""
    runs = _newest(folder, "runs").filter(pl.col("source") == SOURCE).collect()
    if runs.is_empty():
        return
    taken = _races_of_ours(_again(runs, _newest(folder, "runs"), _newest(folder, "links").collect()))
    if not taken.is_empty():
        left = ~pl.col("race_key").is_in(taken.implode())
        races = _newest(folder, "races").filter(pl.col("source") == SOURCE, left).collect()
        _write(folder, races, runs.filter(left))


def _again(by_hand: pl.DataFrame, runs: pl.LazyFrame, links: pl.DataFrame) -> pl.DataFrame:
    """Return the runs by hand of whose horse a table has a run on that day, by its key or by its name."""
    years = by_hand["date"].dt.year().unique().implode()
    there = runs.filter(pl.col("source") != SOURCE, pl.col("year").is_in(years))
    others = there.filter(pl.col("date").is_in(by_hand["date"].unique().implode()))
    found = others.select("date", "source_horse", "horse_name").collect()
    keys = dict(horse_keys(links).iter_rows())
    ran = {(day, keys.get(horse, horse)) for day, horse, _name in found.iter_rows()}
    ran |= {(day, plain_name(name)) for day, _horse, name in found.iter_rows() if name}
    rows = by_hand.select("date", "source_horse", "horse_name").iter_rows()
    told = [(day, keys.get(horse, horse)) in ran or (day, plain_name(name or "")) in ran for day, horse, name in rows]
    return by_hand.filter(pl.Series(told, dtype=pl.Boolean))


def _races_of_ours(again: pl.DataFrame) -> pl.Series:
    """Return the races of those of the runs that are of horses of ours."""
    return again.filter(pl.col("file") == OURS)["race_key"].unique().sort()


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
