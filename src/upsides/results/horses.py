"""The table of horses: what runs, and tables of horses, say about each horse of a source."""

from pathlib import Path

import polars as pl
from deltalake import DeltaTable

from upsides.results import tables

LATEST = ("name", "suffix", "foaled", "sex")
"""Taken from the newest run that says it, else from a table of horses."""
PARENTS = ("sire", "dam", "dam_sire")
NO_PARENTS = pl.Schema({"source_horse": pl.String(), "sire": pl.String(), "dam": pl.String()})
"""Parents as runs give them; of none an empty frame."""


def rebuild_horses(
    folder: Path, source: str, touched: pl.Series, parents: pl.DataFrame, listed: pl.DataFrame
) -> pl.DataFrame:
    """Write anew the horses of a source of which something has changed, and return all horses of the source.

    Args:
        folder: the library's folder.
        source: the source.
        touched: `source_horse` of those whose runs have changed.
        parents: `source_horse`, `sire` and `dam` as the runs of this import gave them.
        listed: rows of tables of horses in this import, one a horse (`listed.STAGED_HORSES`).
    """
    before, runs = (_newest(folder, name).filter(pl.col("source") == source) for name in ("horses", "runs"))
    frame = rebuilt(source, before.collect(), runs, touched, parents, listed)
    tables.replace_where(folder, "horses", frame, f"source = '{source}'")
    return frame


def rebuilt(
    source: str,
    before: pl.DataFrame,
    runs: pl.LazyFrame,
    touched: pl.Series,
    parents: pl.DataFrame,
    listed: pl.DataFrame,
) -> pl.DataFrame:
    """Return the horses of a source, those touched or listed anew, the others as they were.

    A horse that has no run left is dropped, unless it stands in a table of horses. A row of such a table replaces what
    an earlier one said of its horse, whole; what runs said of its parents fills what the row does not say.

    Args:
        source: the source.
        before: its horses as they were.
        runs: its runs as they are.
        touched: `source_horse` of those whose runs have changed.
        parents: what the runs of this import say of parents.
        listed: rows of tables of horses in this import, one a horse.
    """
    horse = "source_horse"
    which = pl.DataFrame({horse: pl.concat([touched, listed[horse]]).unique()})
    row = listed.rename({"horse_name": "name", "file": "listed_in"}).select(horse, *LATEST, *PARENTS, "listed_in")
    known = (
        which.join(_from_runs(runs, which[horse]), horse, how="left")
        .join(row, horse, how="left", suffix="_row")
        .join(before.drop("source", "first_run", "last_run", "runs"), horse, how="left", suffix="_before")
        .join(_one_row(parents), horse, how="left", suffix="_runs")
    )
    fresh = known.filter(pl.col("runs").is_not_null() | _either("listed_in").is_not_null()).select(
        horse,
        pl.lit(source).alias("source"),
        *(_latest(name).alias(name) for name in LATEST),
        *(_parent(name).alias(name) for name in ("sire", "dam")),
        _dams_sire().alias("dam_sire"),
        "first_run",
        "last_run",
        pl.col("runs").fill_null(0),
        _either("listed_in").alias("listed_in"),
    )
    others = before.join(which, horse, how="anti")
    columns = [pl.col(name).cast(kind) for name, kind in tables.HORSES_SCHEMA.items()]
    return pl.concat([others.select(columns), fresh.select(columns)]).sort(horse)


# Columns of `known`: of the runs as they are called; of the row as they are called where runs have none, else with
# "_row"; "_before" and "_runs" as their names say.

_LISTED = pl.col("listed_in").is_not_null()
_BEFORE = pl.col("listed_in_before").is_not_null()


def _either(name: str) -> pl.Expr:
    return pl.coalesce(name, f"{name}_before")


def _latest(name: str) -> pl.Expr:
    before = pl.when(_BEFORE).then(f"{name}_before")
    return pl.coalesce(name, pl.when(_LISTED).then(f"{name}_row").otherwise(before))


def _parent(name: str) -> pl.Expr:
    runs, before = f"{name}_runs", f"{name}_before"
    row = pl.coalesce(name, runs, pl.when(~_BEFORE).then(before))
    return pl.when(_LISTED).then(row).otherwise(pl.coalesce(runs, before))


def _dams_sire() -> pl.Expr:
    """Return the dam's sire: of the row's dam, or as it was where runs have not named another dam since."""
    another = (pl.col("dam_runs").str.to_lowercase() != pl.col("dam_before").str.to_lowercase()).fill_null(value=False)
    return pl.when(_LISTED).then("dam_sire").otherwise(pl.when(~another).then("dam_sire_before"))


def _one_row(parents: pl.DataFrame) -> pl.DataFrame:
    return parents.group_by("source_horse").agg(pl.col("sire", "dam").drop_nulls().last())


def _newest(folder: Path, name: str) -> pl.LazyFrame:
    return tables.scan(folder, name, DeltaTable(tables.table_path(folder, name)).version())


def _from_runs(runs: pl.LazyFrame, horses: pl.Series) -> pl.DataFrame:
    """Sum up the newest runs of some horses, year by year, so that one year is in memory at a time."""
    wanted = runs.select("source_horse", "year", "date", pl.col("horse_name").alias("name"), *LATEST[1:])
    total = _summed(wanted.head(0).drop("year").collect())
    for year in runs.select("year").unique().sort("year").collect(engine="streaming")["year"]:
        held = pl.col("source_horse").is_in(horses.implode())
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
