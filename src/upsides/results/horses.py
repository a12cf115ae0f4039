"""The table of horses: what the runs of a source say about each of its horses."""

from pathlib import Path

import polars as pl
from deltalake import DeltaTable

from upsides.results import tables

LATEST = ("horse_name", "suffix", "foaled", "sex")
PARENTS = ("sire", "dam")


def rebuild_horses(folder: Path, source: str, touched: pl.Series, parents: pl.DataFrame) -> None:
    """Write anew the horses of a source whose runs have changed, keeping what is known of their parents.

    Args:
        folder: the library's folder.
        source: the source.
        touched: `source_horse` of those whose runs have changed; one that has no run left is dropped.
        parents: `source_horse`, `sire` and `dam` as this import gave them.
    """
    before = pl.scan_delta(tables.table_path(folder, "horses")).filter(pl.col("source") == source).collect()
    known = pl.concat([before.select("source_horse", *PARENTS), parents])
    known = known.group_by("source_horse", maintain_order=True).agg(pl.col(PARENTS).drop_nulls().last())
    fresh = (
        _from_runs(folder, source, touched)
        .rename({"horse_name": "name"})
        .join(known, "source_horse", how="left")
        .with_columns(source=pl.lit(source))
        .select(pl.col(name).cast(dtype) for name, dtype in tables.HORSES_SCHEMA.items())
    )
    kept = before.filter(~pl.col("source_horse").is_in(touched.implode())).select(fresh.columns)
    frame = pl.concat([kept, fresh]).sort("source_horse")
    tables.replace_where(folder, "horses", frame, f"source = '{source}'")


def _from_runs(folder: Path, source: str, touched: pl.Series) -> pl.DataFrame:
    """Sum up the newest runs of some horses, year by year, so that one year is in memory at a time."""
    path = tables.table_path(folder, "runs")
    runs = pl.scan_delta(path, version=DeltaTable(path).version()).filter(pl.col("source") == source)
    wanted = runs.select("source_horse", "year", "date", *LATEST)
    total = _summed(wanted.head(0).drop("year").collect())
    for year in runs.select("year").unique().sort("year").collect(engine="streaming")["year"]:
        held = pl.col("source_horse").is_in(touched.implode())
        one = wanted.filter((pl.col("year") == year) & held).drop("year").collect(engine="streaming")
        total = _added(pl.concat([total, _summed(one)]))
    return total


def _summed(runs: pl.DataFrame) -> pl.DataFrame:
    return (
        runs.sort("date")
        .group_by("source_horse")
        .agg(
            pl.col(LATEST).drop_nulls().last(),
            first_run=pl.col("date").min(),
            last_run=pl.col("date").max(),
            runs=pl.len().cast(pl.Int64),
        )
    )


def _added(sums: pl.DataFrame) -> pl.DataFrame:
    return sums.group_by("source_horse", maintain_order=True).agg(
        pl.col(LATEST).drop_nulls().last(),
        pl.col("first_run").min(),
        pl.col("last_run").max(),
        pl.col("runs").sum(),
    )
