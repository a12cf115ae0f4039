"""Tables of horses: what a register says of each, whether it has run here or not.

Only what cannot change is read (`fields.HORSE_FIELDS`). A horse that has no run in the library is kept as well: it is
a brother or sister of those that have.
"""

import polars as pl

from upsides.errors.wording import gettext as _
from upsides.results.deriving import remark
from upsides.results.description import Shape, Table
from upsides.results.fields import HORSE_FIELDS
from upsides.results.horses import NO_PARENTS, rebuilt
from upsides.results.library import Library
from upsides.results.mapping import Dtypes, leave_out, missing, named, read_fields, refusals, source_horse
from upsides.results.readers import LINE
from upsides.results.schema import HORSES, REFUSED, polars_schema

_SCHEMA = polars_schema(HORSES)
HORSE_DTYPES: Dtypes = {name: _SCHEMA.get(name, pl.String()) for name in HORSE_FIELDS}
STAGED_HORSES = pl.Schema(
    {"source": pl.String(), "source_horse": pl.String(), **HORSE_DTYPES, "file": pl.String(), "line": pl.Int64()}
)
SAID = tuple(name for name in HORSE_FIELDS if name != "horse_id")
"""What a row says of its horse."""

TWICE = _("the horse stands here twice: the first row is kept")
DISAGREE = _("rows of one horse disagree: the first row is kept")
OTHERWISE = _("its runs here name it otherwise: kept, as its number tells who it is")


def map_horses(raw: pl.DataFrame, table: Table, shape: Shape, file: str) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Map one batch of text rows of a table of horses; `raw` has the table's columns and LINE, its line numbers.

    Returns:
        The horses in STAGED_HORSES, and what was refused or remarked on.
    """
    notes = [pl.DataFrame(schema=polars_schema(REFUSED))]
    raw = leave_out(raw, table, shape.source, file, notes)
    horses = named(read_fields(table.horse, raw, HORSE_DTYPES, shape, file, notes))
    for name in table.required:
        notes.append(missing(horses, name, shape.source, file, notes))
    nobody = pl.col("horse_id").is_null() & pl.col("horse_name").is_null()
    notes.append(refusals(horses.filter(nobody), shape.source, file, "horse_name", "", _("no horse is named")))
    lost = pl.any_horizontal(nobody, *(pl.col(name).is_null() for name in table.required))
    refused = pl.concat(notes)
    gone = refused["line"].is_in(horses.filter(lost)[LINE].implode())
    kept = horses.filter(~lost).with_columns(source=pl.lit(shape.source), file=pl.lit(file)).rename({LINE: "line"})
    return (
        kept.with_columns(source_horse=source_horse()).select(STAGED_HORSES.names()),
        refused.with_columns(fate=pl.when(gone).then(pl.lit("row")).otherwise("fate")),
    )


def settle_horses(rows: list[pl.DataFrame]) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Keep the first row of each horse; return the horses, and a remark on every other row."""
    horses = pl.concat([STAGED_HORSES.to_frame(), *rows])
    first = pl.col("source_horse").is_first_distinct()
    again = horses.filter(~first).join(horses.filter(first), on="source_horse", suffix="_first", maintain_order="left")
    same = pl.all_horizontal(pl.col(name).eq_missing(pl.col(f"{name}_first")) for name in SAID)
    notes = [
        remark(again.filter(same), "horse_id", "source_horse", TWICE, "row"),
        remark(again.filter(~same), "horse_id", "source_horse", DISAGREE, "row"),
    ]
    return horses.filter(first), pl.concat(notes)


def told_anew(library: Library, source: str, listed: pl.DataFrame) -> int:
    """Count the listed horses of which the library would say something that it does not say, its runs as they are."""
    if listed.is_empty():
        return 0
    before, runs = (library.table(name).filter(pl.col("source") == source) for name in ("horses", "runs"))
    held, none = before.collect(), NO_PARENTS.to_frame()
    after = rebuilt(source, held, runs, none["source_horse"], none, listed)
    said = [name for name in after.columns if name != "listed_in"]
    return after.join(held, on=said, how="anti", nulls_equal=True).height


def raced(library: Library, source: str) -> int:
    """Count the horses of a source's tables of horses that have run here."""
    ran = (pl.col("source") == source) & pl.col("listed_in").is_not_null() & (pl.col("runs") > 0)
    return int(library.table("horses").filter(ran).select(pl.len()).collect().item())


def called_otherwise(listed: pl.DataFrame, horses: pl.DataFrame) -> pl.DataFrame:
    """Return a remark on every listed horse whose runs bear another name: renamed, or its number given twice.

    Args:
        listed: rows of tables of horses.
        horses: the library's horses.
    """
    ran = horses.filter(pl.col("runs") > 0).select("source_horse", "name")
    both = listed.join(ran, on="source_horse", maintain_order="left")
    return remark(both.filter(_plain("horse_name") != _plain("name")), "horse_name", "horse_name", OTHERWISE)


def _plain(name: str) -> pl.Expr:
    return pl.col(name).str.to_lowercase().str.replace_all(r"[^\pL\pN]", "")
