"""Any table with animal, sire and dam, read into rows of text."""

from dataclasses import dataclass, field
from pathlib import Path

import polars as pl

from upsides.errors import PedigreeTableError
from upsides.errors.wording import gettext as _
from upsides.pedigree.columns import Columns, columns_of
from upsides.results.readers import LINE, Fault, Source, open_source, read_batches

FIELDS = ("animal", "sire", "dam", "sex", "born", "name", "dam_sire")
SCHEMA = pl.Schema({"line": pl.Int64(), **dict.fromkeys(FIELDS, pl.String())})


@dataclass(frozen=True, slots=True)
class Table:
    """The rows of a pedigree as they were written.

    Args:
        rows: `line` in the file, and the text columns animal, sire, dam, sex, born, name and dam_sire, null where
            empty.
        by_name: whether parents are told by names although animals are numbered, so that `name` says who is meant.
        columns: the headers that were read.
        faults: lines that could not be read, or were read with a remark.
        dated: whether a name means one of the animals only where both years are known. Where neither year nor
            sex can speak against it, most horses that bear the name of a stallion are not he.
    """

    rows: pl.DataFrame
    by_name: bool = False
    columns: Columns = field(default_factory=Columns)
    faults: tuple[Fault, ...] = ()
    dated: bool = False


def read_table(path: Path, columns: Columns | None = None, *, encoding: str = "utf-8", sheet: str = "") -> Table:
    """Read a file: delimited text (gzipped or not), XLSX, Parquet or JSON lines, whatever it is called.

    Args:
        path: the file.
        columns: headers that are told rather than guessed.
        encoding: of text; bytes that do not fit are read as Western European and remarked on.
        sheet: the worksheet.

    Raises:
        FileUnreadableError: it cannot be read as a table.
        PedigreeTableError: its columns cannot be told, the encoding is none, or it has no row.
    """
    try:
        "".encode(encoding)
    except LookupError:
        raise PedigreeTableError(
            path.name, _("there is no encoding {encoding!r}", encoding=encoding), _("try cp1252 or utf-8")
        ) from None
    source = open_source(path, encoding=encoding, sheet=sheet)
    found = columns_of(path, source.columns, columns or Columns())
    rows, faults = _rows(source, found)
    if rows.is_empty():
        raise PedigreeTableError(path.name, _("it has a header but no row"), _("give a table with one animal a row"))
    return Table(rows, _told_by_name(rows), found, tuple(faults))


def _rows(source: Source, columns: Columns) -> tuple[pl.DataFrame, list[Fault]]:
    frames, faults = [pl.DataFrame(schema=SCHEMA)], []
    wanted = [_cell(getattr(columns, name), name) for name in FIELDS]
    for batch in read_batches(source):
        frames.append(batch.frame.select(pl.col(LINE).alias("line"), *wanted))
        faults.extend(batch.faults)
    return pl.concat(frames), faults


def _cell(column: str, name: str) -> pl.Expr:
    if not column:
        return pl.lit(None, dtype=pl.String).alias(name)
    text = pl.col(column).str.strip_chars()
    return pl.when(text != "").then(text).alias(name)


def _told_by_name(rows: pl.DataFrame) -> bool:
    """Say whether more parents are called like an animal's name than like its number."""
    if rows["name"].null_count() == rows.height:
        return False
    parents = pl.concat([rows["sire"], rows["dam"]]).drop_nulls().unique().str.to_lowercase()
    numbered = parents.is_in(rows["animal"].drop_nulls().str.to_lowercase().implode()).sum()
    named = parents.is_in(rows["name"].drop_nulls().str.to_lowercase().implode()).sum()
    return bool(named > numbered)
