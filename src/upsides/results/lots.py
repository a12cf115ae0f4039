"""The list of a sale's lots, or of several sales', read from a file by a shape: all of it, or nothing.

Rows and cells that cannot be used come back as refusals with their line, as in an import of results.
"""

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import polars as pl

from upsides.errors import FileUnreadableError, SaleNamesError, SaleNotNamedError
from upsides.errors.wording import gettext as _
from upsides.results.description import Shape, Table
from upsides.results.lot_rows import LOTS, Rows, rows_of
from upsides.results.mapping import REFUSED_SCHEMA, faults, refusals
from upsides.results.readers import Source, open_source, read_batches
from upsides.results.recognising import recognise
from upsides.results.shape import load_shape

Progress = Callable[[float, str], None]
MOST: Final = 500_000
"""Lots that one file may hold; ten years of the largest sales are a tenth of it."""
AGAIN: Final = _("the lot stands on an earlier line already")
AGAIN_OTHERWISE: Final = _("the lot stands on an earlier line with other words; that one was taken")
_A_LOT: Final = ("sale", "year", "number")


@dataclass(frozen=True, slots=True)
class Listed:
    """What a file holds.

    Args:
        file: its name.
        sha256: the hash of its bytes.
        lots: columns of `lot_rows.LOTS`, one row a lot of a sale, in the file's order.
        refused: refusals and remarks in the schema's REFUSED, by line; `fate` "row" is a row left out.
        unread: rows left out of which it is not known which lot they are.
        unused: columns that nothing was taken from, with the reason where the shape gives one.
    """

    file: str
    sha256: str
    lots: pl.DataFrame
    refused: pl.DataFrame
    unread: int
    unused: dict[str, str]

    @property
    def left_out(self) -> int:
        """Return how many rows were left out."""
        return self.refused.filter(fate="row")["line"].n_unique()


def read_lots(
    file: str | Path, shape: str | Path | Shape, sale: str = "", progress: Progress | None = None, most: int = MOST
) -> Listed:
    """Read the list of a sale.

    Args:
        file: the table.
        shape: name of a shipped shape, path of a TOML file, or a shape already loaded.
        sale: the sale's name, where the list does not say it or is to be called otherwise.
        progress: called with the share read and what is being done.
        most: how many lots are read at most.

    Raises:
        ShapeError: the shape cannot be used.
        FileUnreadableError: the file is no list of lots by this shape, is damaged, holds no lot, or too many.
        SaleNotNamedError: neither the list nor `sale` says which sale it is.
        SaleNamesError: `sale` would make one sale of several.
    """
    shape, path, sale = shape if isinstance(shape, Shape) else load_shape(shape), Path(file), " ".join(sale.split())
    source = open_source(path, shape.delimiter, shape.encoding, shape.header_line, shape.sheet)
    table = recognise(source, shape, wanted="lots")
    if not sale and not any(rule.field.name == "sale" for rule in table.lot):
        raise SaleNotNamedError(path.name)
    rows = _read(source, table, shape, sale, progress, most)
    lots, again = _once(_called(rows.lots, sale, path.name), shape.source, path.name)
    refused = pl.concat([rows.refused, again]).sort("line", maintain_order=True)
    unused = {name: table.unused.get(name, "") for name in source.columns if name not in table.columns()}
    return Listed(path.name, _sha256(path), lots, refused, rows.unread, unused)


def _read(source: Source, table: Table, shape: Shape, sale: str, progress: Progress | None, most: int) -> Rows:
    """Return all rows of a file, mapped batch by batch."""
    name, found, notes = source.path.name, [LOTS.to_frame()], [REFUSED_SCHEMA.to_frame()]
    unread = count = 0
    for batch in read_batches(source):
        rows = rows_of(batch.frame, table, shape, name, sale)
        found.append(rows.lots)
        notes += [rows.refused, faults(batch.faults, shape.source, name)]
        unread += rows.unread + sum(not fault.kept for fault in batch.faults)
        count += rows.lots.height
        if count > most:
            raise FileUnreadableError(
                name, _("it holds more than {most:,} lots", most=most), _("bring in fewer sales at a time")
            )
        if progress is not None:
            progress(min(batch.done, 1.0), f"reading {name}")
    if not count and not unread:
        raise FileUnreadableError(name, _("there is no lot in it"), _("give a list that has rows below its header"))
    return Rows(pl.concat(found), pl.concat(notes), unread)


def _called(lots: pl.DataFrame, sale: str, file: str) -> pl.DataFrame:
    """Return the lots with each sale written one way: as it stands first, or as it was asked for."""
    first = pl.col("sale").first().over(pl.col("sale").str.to_lowercase(), "year")
    lots = lots.with_columns(first)
    if not sale:
        return lots
    names = lots.select("sale", "year").unique(maintain_order=True)
    if names["year"].is_duplicated().any():
        raise SaleNamesError(file, sale, names["sale"].unique(maintain_order=True).to_list())
    return lots.with_columns(sale=pl.lit(sale))


def _once(lots: pl.DataFrame, source: str, file: str) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Return each lot once, as it stands first, and the refusals of its later lines."""
    first = lots.unique(_A_LOT, keep="first", maintain_order=True)
    later = lots.filter(~pl.col("line").is_in(first["line"].implode()))
    words = [name for name in lots.columns if name != "line"]
    same = later.join(first, on=words, how="semi", nulls_equal=True)
    other = later.join(first, on=words, how="anti", nulls_equal=True)
    told = ((same, AGAIN), (other, AGAIN_OTHERWISE))
    notes = [refusals(rows, source, file, "number", rows["number"], reason) for rows, reason in told]
    return first, pl.concat(notes)


def _sha256(path: Path) -> str:
    with path.open("rb") as raw:
        return hashlib.file_digest(raw, "sha256").hexdigest()
