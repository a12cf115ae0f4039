"""Tables of any common kind read in batches, every cell as text, with true line numbers.

What a file is, is told by its first bytes, never by its name: Parquet, XLSX, JSON lines, or delimited text;
each of the last two may be gzipped. Nothing is guessed about values here: numbers stay the text that was
printed, a spreadsheet formula stays the formula. In Parquet and JSON lines, which have no header line, the
first row counts as line 2 and line 1.
"""

import json
import re
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import polars as pl

from upsides.errors import FileUnreadableError
from upsides.errors.wording import gettext as _
from upsides.results.blocks import MAX_LINE_BYTES, Block, open_bytes, read_blocks
from upsides.results.delimited import Layout, header_of, rows_of

if TYPE_CHECKING:
    import pyarrow as pa

BATCH_ROWS = 50_000
LINE = "#line"
LATE_KEY = _("a key that the first lines do not have: not taken")


@dataclass(frozen=True, slots=True)
class Fault:
    """A line that was left out (`kept` false) or kept with a remark."""

    line: int
    value: str
    reason: str
    kept: bool = False


@dataclass(frozen=True, slots=True)
class Batch:
    """Rows of text.

    Args:
        frame: one text column per column of the table, and LINE.
        faults: lines that could not be taken, or were taken with a remark.
        done: share of the file read so far, 0 to 1.
    """

    frame: pl.DataFrame
    faults: list[Fault]
    done: float


@dataclass(frozen=True, slots=True)
class Source:
    """A file that was opened far enough to know its columns.

    Args:
        path: the file.
        kind: text, json, parquet or xlsx.
        columns: its columns, in order.
        layout: how its text is laid out (text only).
        sheet: the worksheet (xlsx only).
        max_line: the longest line that is read, in bytes.
    """

    path: Path
    kind: str
    columns: tuple[str, ...]
    layout: Layout | None = None
    sheet: str = ""
    max_line: int = MAX_LINE_BYTES


def kind_of(path: Path) -> str:
    """Tell what kind of table a file is from its first bytes.

    Raises:
        FileUnreadableError: it is absent, empty or cannot be opened.
    """
    try:
        with path.open("rb") as raw:
            magic = raw.read(4)
        if magic == b"PAR1":
            return "parquet"
        if magic == b"PK\x03\x04":
            return "xlsx"
        stream, _packed = open_bytes(path)
        with stream:
            start = stream.read(512)
    except FileNotFoundError as error:
        raise FileUnreadableError(path, _("there is no such file"), _("check its path")) from error
    except IsADirectoryError as error:
        raise FileUnreadableError(path.absolute(), _("it is a folder"), _("name the files in it")) from error
    except EOFError as error:
        raise FileUnreadableError(path.name, _("the gzip file is cut off"), _("fetch the file again")) from error
    except (OSError, zlib.error) as error:
        raise FileUnreadableError(
            path.name, _("it is damaged ({error})", error=error), _("fetch the file again")
        ) from error
    if not start.strip():
        raise FileUnreadableError(path.name, _("it is empty"), _("give a file that has a header line and rows"))
    start = start.removeprefix(b"\xef\xbb\xbf").lstrip()
    if re.match(rb"\[\s*[\[{\]]", start):
        raise FileUnreadableError(path.name, _("it is a JSON array"), _("write one object a line"))
    return "json" if start.startswith(b"{") else "text"


def open_source(
    path: Path,
    delimiter: str = "auto",
    encoding: str = "utf-8",
    header_line: int = 1,
    sheet: str = "",
    max_line: int = MAX_LINE_BYTES,
) -> Source:
    """Open a file far enough to know its columns.

    Raises:
        FileUnreadableError: it cannot be read as any kind of table.
    """
    kind = kind_of(path)
    if kind == "parquet":
        return Source(path, kind, _parquet_columns(path))
    if kind == "xlsx":
        head = next(([_as_text(cell) or "" for cell in cells] for _, cells in _sheet_rows(path, sheet)), [])
        while head and not head[-1]:
            head.pop()
        return Source(path, kind, _named(head), sheet=sheet)
    if kind == "json":
        return Source(path, kind, _json_columns(path, max_line), max_line=max_line)
    columns, layout = header_of(path, delimiter, encoding, header_line, max_line)
    return Source(path, kind, _named(columns), layout, max_line=max_line)


def read_batches(source: Source) -> Iterator[Batch]:
    """Yield the rows of a table as text, in batches."""
    if source.kind == "parquet":
        yield from _parquet_batches(source)
    elif source.kind == "xlsx":
        yield from _sheet_batches(source)
    elif source.kind == "json":
        yield from _json_batches(source)
    else:
        yield from _text_batches(source)


def _named(columns: list[str]) -> tuple[str, ...]:
    """Give every column a name of its own: blank ones by their place, repeated ones with a number."""
    names: list[str] = []
    for i, column in enumerate(columns):
        name = column.strip() or f"column{i + 1}"
        names.append(name if name not in names else f"{name}#{i + 1}")
    return tuple(names)


def _text_batches(source: Source) -> Iterator[Batch]:
    size = max(source.path.stat().st_size, 1)
    if source.layout is None:
        return
    for rows in rows_of(source.path, source.layout, len(source.columns), source.max_line):
        frame = rows.frame.rename(dict(zip(rows.frame.columns, source.columns, strict=True)))
        faults = [Fault(*fault) for fault in rows.faults]
        yield Batch(frame.with_columns(pl.Series(LINE, rows.lines, pl.Int64)), faults, rows.position / size)


def _frame(columns: tuple[str, ...], rows: list[list[str | None]], lines: list[int]) -> pl.DataFrame:
    data = {name: [row[i] for row in rows] for i, name in enumerate(columns)}
    schema = dict.fromkeys(columns, pl.String)
    return pl.DataFrame(data, schema=schema).with_columns(pl.Series(LINE, lines, pl.Int64))


# JSON lines ---------------------------------------------------------------------------------------


def _json_columns(path: Path, max_line: int) -> tuple[str, ...]:
    """Return the keys of the first lines, in order of appearance."""
    keys: dict[str, None] = {}
    for block in read_blocks(path, max_line=max_line):
        for text in block.data.split(b"\n")[:2000]:
            item = _json_object(text)
            keys |= dict.fromkeys(item or ())
        break
    if not keys:
        raise FileUnreadableError(path.name, _("no line of it is a JSON object"), _("write one object {...} a line"))
    return tuple(keys)


def _json_object(text: bytes) -> dict[str, object] | None:
    try:
        item = json.loads(text)
    except (ValueError, RecursionError):
        return None
    return item if isinstance(item, dict) else None


def _json_batches(source: Source) -> Iterator[Batch]:
    size = max(source.path.stat().st_size, 1)
    strange: set[str] = set()
    for block in read_blocks(source.path, max_line=source.max_line):
        rows, lines, faults = _json_rows(block, source.columns, strange)
        yield Batch(_frame(source.columns, rows, lines), faults, block.position / size)


def _json_rows(
    block: Block, columns: tuple[str, ...], strange: set[str]
) -> tuple[list[list[str | None]], list[int], list[Fault]]:
    rows: list[list[str | None]] = []
    lines: list[int] = []
    faults = [Fault(line, "", _("the line is longer than the limit")) for line in block.too_long]
    for number, text in enumerate(block.data.split(b"\n"), block.first_line):
        item = _json_object(text) if text.strip() else None
        if item is not None:
            late = item.keys() - set(columns) - strange
            if late:
                strange |= late
                faults.append(Fault(number, ", ".join(sorted(late)), LATE_KEY, kept=True))
            rows.append([_as_text(item.get(name)) for name in columns])
            lines.append(number)
        elif text.strip():
            faults.append(Fault(number, text.decode("utf-8", "replace"), _("not a JSON object")))
    return rows, lines, faults


def _as_text(value: object) -> str | None:
    """Return a cell as text: lists joined by blanks, dates as ISO, everything else as it prints."""
    if value is None or isinstance(value, str):
        return value
    if isinstance(value, list | tuple):
        return " ".join(_as_text(item) or "NA" for item in value)
    if isinstance(value, datetime):
        return (value.date() if value.time() == datetime.min.time() else value).isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, timedelta):
        return str(value.total_seconds())
    return json.dumps(value, ensure_ascii=False) if isinstance(value, dict) else str(value)


# Parquet ------------------------------------------------------------------------------------------


def _parquet_columns(path: Path) -> tuple[str, ...]:
    import pyarrow as pa
    import pyarrow.parquet as pq

    try:
        return tuple(pq.read_schema(path).names)
    except (pa.ArrowException, OSError) as error:
        raise FileUnreadableError(
            path.name, _("the Parquet file is damaged ({error})", error=error), _("fetch it again")
        ) from error


def _parquet_batches(source: Source) -> Iterator[Batch]:
    import pyarrow as pa
    import pyarrow.parquet as pq

    line = 2
    try:
        with pq.ParquetFile(source.path) as file:
            total = max(file.metadata.num_rows, 1)
            for batch in file.iter_batches(batch_size=BATCH_ROWS):
                frame = _texts(source.path, batch)
                numbers = pl.int_range(line, line + frame.height, eager=True, dtype=pl.Int64).alias(LINE)
                line += frame.height
                yield Batch(frame.with_columns(numbers), [], (line - 2) / total)
    except (pa.ArrowException, OSError) as error:
        reason = _("the Parquet file is damaged ({trouble})", trouble=str(error).splitlines()[0])
        raise FileUnreadableError(source.path.name, reason, _("nothing of it was taken; fetch it again")) from error


def _texts(path: Path, batch: "pa.RecordBatch") -> pl.DataFrame:
    """Turn every column of a typed table into text, naming the column where that cannot be done."""
    columns = []
    for field, array in zip(batch.schema, batch.columns, strict=True):
        reason = _(
            "the column {name!r} holds values of a kind that is not read ({type})", name=field.name, type=field.type
        )
        failure = FileUnreadableError(path.name, reason, _("write it as text or numbers, or leave it out"))
        if not _printable(field.type):
            raise failure
        try:
            column = pl.Series(field.name, _in_named_zone(array))
            columns.append(column.to_frame().select(_text_of(field.name, column.dtype)).to_series())
        except (pl.exceptions.PolarsError, TypeError, ValueError, NotImplementedError) as error:
            raise failure from error
    return pl.DataFrame(columns)


def _printable(kind: "pa.DataType") -> bool:
    """Say whether a kind of value can be printed: single values, lists of them, and records of them."""
    from pyarrow import types

    def single(inner: "pa.DataType") -> bool:
        odd = (types.is_nested, types.is_decimal256, types.is_duration, types.is_binary, types.is_large_binary)
        return not any(test(inner) for test in odd)

    if types.is_struct(kind):
        return all(single(kind.field(i).type) for i in range(kind.num_fields))
    if types.is_list(kind) or types.is_large_list(kind) or types.is_fixed_size_list(kind):
        return single(kind.value_type)
    return not types.is_nested(kind) and not types.is_decimal256(kind)


def _in_named_zone(array: "pa.Array") -> "pa.Array":
    """Return instants in UTC where their zone is a bare offset (+05:30), which is no zone's name."""
    import pyarrow as pa

    if pa.types.is_timestamp(array.type) and (array.type.tz or "").startswith(("+", "-")):
        return array.cast(pa.timestamp(array.type.unit, "UTC"))
    return array


def _text_of(name: str, dtype: pl.DataType) -> pl.Expr:
    column = pl.col(name)
    if isinstance(dtype, pl.Array):
        return _text_list(column.arr.to_list())
    if isinstance(dtype, pl.List):
        return _text_list(column)
    if isinstance(dtype, pl.Datetime):
        return _instant_text(column, dtype)
    if isinstance(dtype, pl.Duration):
        return (column.dt.total_nanoseconds() / 1e9).cast(pl.String)
    if isinstance(dtype, pl.Binary):
        return column.map_elements(_lossy, return_dtype=pl.String)
    return column.struct.json_encode() if isinstance(dtype, pl.Struct) else column.cast(pl.String)


def _text_list(column: pl.Expr) -> pl.Expr:
    return column.list.eval(pl.element().cast(pl.String).fill_null("NA")).list.join(" ")


def _instant_text(column: pl.Expr, dtype: pl.Datetime) -> pl.Expr:
    """Return instants as ISO with their offset; those without a zone as a date where they are midnight."""
    if dtype.time_zone is not None:
        return column.dt.to_string("%Y-%m-%dT%H:%M:%S%.f%:z")
    midnight = column.dt.time() == pl.time(0, 0, 0)
    return pl.when(midnight).then(column.dt.date().cast(pl.String)).otherwise(column.dt.to_string("iso"))


def _lossy(data: bytes) -> str:
    return data.decode("utf-8", "replace")


# XLSX ---------------------------------------------------------------------------------------------


def _sheet_rows(path: Path, sheet: str) -> Iterator[tuple[int, tuple[object, ...]]]:
    """Yield the rows of a worksheet with their numbers; formulas come as text and are never worked out."""
    import zipfile

    import openpyxl
    from openpyxl.utils.exceptions import InvalidFileException

    try:
        book = openpyxl.load_workbook(path, read_only=True, data_only=False)
        try:
            page = book[sheet] if sheet else book.worksheets[0]
            for number, cells in enumerate(page.iter_rows(values_only=True), 1):
                if any(cell is not None for cell in cells):
                    yield number, cells
        finally:
            book.close()
    except (zipfile.BadZipFile, InvalidFileException, KeyError, IndexError, ValueError, OSError) as error:
        reason = _("it is not a workbook that can be read ({error})", error=error)
        raise FileUnreadableError(path.name, reason, _("save it as XLSX or CSV and try again")) from error


def _sheet_batches(source: Source) -> Iterator[Batch]:
    rows: list[list[str | None]] = []
    lines: list[int] = []
    width = len(source.columns)
    faults: list[Fault] = []
    for place, (number, cells) in enumerate(_sheet_rows(source.path, source.sheet)):
        texts = [_as_text(cell) for cell in cells]
        if place == 0:
            continue
        if any(texts[width:]):
            faults.append(Fault(number, " ".join(filter(None, texts)), _("more cells than the header has columns")))
            continue
        rows.append((texts + [None] * width)[:width])
        lines.append(number)
        if len(rows) >= BATCH_ROWS:
            yield Batch(_frame(source.columns, rows, lines), faults, 0.5)
            rows, lines, faults = [], [], []
    yield Batch(_frame(source.columns, rows, lines), faults, 1.0)
