"""The library of results: a folder of versioned tables, read with Polars.

    library = Library.create("results")           # or Library.open("results")
    importing.add(library, ["runs.csv.gz", "races.csv.gz"], "hk1997")
    library.runs(as_of=date(2001, 1, 1)).filter(...).collect()

A `Library` is a view of one state: what it shows does not change while somebody else imports; `refresh` moves
on to the newest state. Every frame it returns is lazy.
"""

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Self

import polars as pl

from upsides.results import tables
from upsides.results.identity import horse_keys
from upsides.results.schema import RACES, REFUSED, RUNS


@dataclass(frozen=True, slots=True)
class SourceSummary:
    """What one source holds: counts and the span of its dates.

    `horses` have run here; `unraced` are those that only stand in a table of horses.
    """

    source: str
    races: int
    runs: int
    horses: int
    unraced: int
    refused: int
    first: date | None
    last: date | None


class Library:
    """A library of results in a folder.

    Args:
        folder: where it stands.
        pins: the table versions of the state to show.
    """

    def __init__(self, folder: Path, pins: dict[str, int]) -> None:
        self.folder = folder
        self.pins = pins

    @classmethod
    def create(cls, folder: str | Path) -> Self:
        """Open the library in a folder, laying an empty one first where there is none.

        Raises:
            LibraryNewerError: there is one, written by a newer version of this program.
        """
        path = Path(folder)
        if not (path / tables.PIN_FILE).exists():
            tables.write_pins(path, tables.create_tables(path))
        return cls.open(path)

    @classmethod
    def open(cls, folder: str | Path) -> Self:
        """Open an existing library.

        Raises:
            LibraryMissingError: there is none in the folder.
            LibraryNewerError: it was written by a newer version of this program.
        """
        path = Path(folder)
        return cls(path, tables.read_pins(path))

    def refresh(self) -> None:
        """Move on to the newest state of the library."""
        self.pins = tables.read_pins(self.folder)

    def table(self, name: str) -> pl.LazyFrame:
        """Scan one of the library's tables with all of its columns, the internal ones too."""
        return tables.scan(self.folder, name, self.pins[name])

    def races(self, as_of: date | None = None) -> pl.LazyFrame:
        """Return races in the schema; with `as_of` only those before that day: known that morning."""
        return _before(self.table("races"), as_of).select(column.name for column in RACES)

    def runs(self, as_of: date | None = None) -> pl.LazyFrame:
        """Return runs in the schema and `horse_key`, one key for each horse across all of its sources.

        With `as_of` only runs before that day: what was known that morning.
        """
        runs = _before(self.table("runs"), as_of).select(column.name for column in RUNS)
        keys = horse_keys(self.table("links").collect())
        if keys.is_empty():
            return runs.with_columns(horse_key="source_horse")
        merged = pl.col("source_horse").replace(keys["source_horse"], keys["horse_key"])
        return runs.with_columns(horse_key=merged)

    def horses(self) -> pl.LazyFrame:
        """Return every horse of every source, with its name, suffix, year, parents, runs and `horse_key`."""
        keys = horse_keys(self.table("links").collect())
        return self.table("horses").with_columns(
            horse_key=pl.col("source_horse").replace(keys["source_horse"], keys["horse_key"])
        )

    def refused(self) -> pl.LazyFrame:
        """Return every row and cell that was refused or remarked on, by file and line."""
        return self.table("refused").select(column.name for column in REFUSED)

    def summary(self) -> list[SourceSummary]:
        """Count what the library holds, source by source."""
        races = (
            self.table("races")
            .group_by("source")
            .agg(races=pl.len(), first=pl.col("date").min(), last=pl.col("date").max())
        )
        runs = self.table("runs").group_by("source").agg(runs=pl.len())
        ran = pl.col("runs") > 0
        horses = self.table("horses").group_by("source").agg(horses=ran.sum(), unraced=(~ran).sum())
        rows = self.table("refused").filter(pl.col("fate") == "row")
        lost = rows.group_by("source").agg(refused=pl.struct("file", "line").n_unique())
        counted = races.join(horses, "source", how="full", coalesce=True).join(runs, "source", how="left")
        frame = counted.join(lost, "source", how="left").sort("source").collect()
        return [
            SourceSummary(
                row["source"],
                row["races"] or 0,
                row["runs"] or 0,
                row["horses"] or 0,
                row["unraced"] or 0,
                row["refused"] or 0,
                row["first"],
                row["last"],
            )
            for row in frame.iter_rows(named=True)
        ]


def _before(frame: pl.LazyFrame, as_of: date | None) -> pl.LazyFrame:
    if as_of is None:
        return frame
    return frame.filter((pl.col("date") < as_of) & (pl.col("year") <= as_of.year))
