"""The pedigree of a library's own horses, whose parents the sources name but do not number."""

import polars as pl

from upsides.pedigree.columns import Columns
from upsides.pedigree.reading import SCHEMA, Table
from upsides.results.library import Library


def table_of(library: Library) -> Table:
    """Return the horses of a library as a pedigree table: one row a horse, however many sources know it.

    A parent's name means the horse of the library that bears it where exactly one does and neither its sex nor its
    year speaks against it; otherwise it stands for an animal of its own.
    """
    horses = library.horses().sort("source_horse").collect()
    suffix = pl.when(pl.col("suffix").is_null() | (pl.col("suffix") == "")).then(pl.lit(""))
    known = horses.group_by("horse_key", maintain_order=True).agg(
        pl.col("name", "suffix", "sex", "foaled", "sire", "dam").drop_nulls().last()
    )
    rows = known.with_row_index("line", offset=1).select(
        pl.col("line").cast(pl.Int64),
        animal="horse_key",
        sire="sire",
        dam="dam",
        sex="sex",
        born=pl.col("foaled").cast(pl.String),
        name=pl.col("name") + suffix.otherwise(pl.format(" ({})", "suffix")),
    )
    columns = Columns("horse_key", "sire", "dam", "sex", "foaled", "name")
    return Table(rows.cast(SCHEMA), by_name=True, columns=columns)
