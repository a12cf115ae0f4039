"""Delimited text: which sign separates the cells, and rows with true line numbers.

Blocks without quotation marks go through Polars; blocks with them through the standard csv module, which
knows that a quoted cell may hold delimiters and line ends.
"""

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import polars as pl
from numpy.typing import NDArray

from upsides.errors import FileUnreadableError
from upsides.errors.wording import gettext as _
from upsides.results.blocks import Block, read_blocks
from upsides.results.reasons import NOT_THAT_ENCODING

DELIMITERS = (",", ";", "\t", "|")
NAMES = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
TOO_LONG = _("the line is longer than the limit")
WRONG_COUNT = _("not as many cells as the header has columns")
NOT_CLOSED = _("a quotation mark is opened and never closed")
NOT_UTF8 = _("not UTF-8; read as Western European (Windows-1252)")
Found = tuple[int, str, str, bool]


@dataclass(frozen=True, slots=True)
class Layout:
    """How a file of text is laid out."""

    delimiter: str
    encoding: str
    header_line: int


@dataclass(slots=True)
class Rows:
    """Rows of one block: cells as text, their line numbers, and (line, text, reason, kept) of faults."""

    frame: pl.DataFrame
    lines: NDArray[np.int64] | list[int]
    faults: list[Found] = field(default_factory=list)
    position: int = 0


def header_of(path: Path, delimiter: str, encoding: str, header_line: int, max_line: int) -> tuple[list[str], Layout]:
    """Read the header of a file and settle its delimiter.

    Raises:
        FileUnreadableError: there is no header, or it has one cell where another delimiter would give
            several.
    """
    block = next(read_blocks(path, block_bytes=max(2 * max_line, 65536), max_line=max_line), None)
    lines = block.data.split(b"\n") if block else []
    if len(lines) < header_line or not lines[header_line - 1].strip():
        raise FileUnreadableError(
            path.name,
            _("line {header_line}, where the header should stand, is empty", header_line=header_line),
            _("see header_line in the shape"),
        )
    text = _decoded(lines[header_line - 1], encoding)
    counts = {sign: len(next(csv.reader([text], delimiter=sign))) for sign in DELIMITERS}
    best = max(DELIMITERS, key=lambda sign: counts[sign])
    chosen = best if delimiter == "auto" else delimiter
    if counts[chosen] == 1 and counts[best] > 1:
        reason = _(
            "read with a {names} between cells, its header is one cell: {text!r}", names=NAMES[chosen], text=text[:80]
        )
        raise FileUnreadableError(
            path.name,
            reason,
            _("it looks {names}-separated; set file.delimiter = {best!r}", names=NAMES[best], best=best),
        )
    return next(csv.reader([text], delimiter=chosen)), Layout(chosen, encoding, header_line)


def _decoded(data: bytes, encoding: str) -> str:
    try:
        return data.decode(encoding)
    except UnicodeDecodeError:
        return data.decode("cp1252" if encoding == "utf-8" else "latin-1", "replace")


def rows_of(path: Path, layout: Layout, width: int, max_line: int) -> Iterator[Rows]:
    """Yield the rows below the header."""
    held, held_line, position = "", 0, 0
    for block in read_blocks(path, max_line=max_line):
        faults: list[Found] = [(line, "", TOO_LONG, False) for line in block.too_long]
        text = _below_header(_text(block, layout.encoding, faults), block.first_line, layout.header_line)
        first = max(block.first_line, layout.header_line + 1)
        position = block.position
        if not held and '"' not in text:
            rows = _plain(text, first, layout.delimiter, width)
        else:
            text, first = held + text, held_line if held else first
            whole, held, held_line = _cut(text, first, max_line)
            rows = _quoted(whole, first, layout.delimiter, width)
        rows.faults[:0] = faults
        rows.position = position
        yield rows
    if held:
        rows = _one_by_one(held.split("\n"), held_line, layout.delimiter, width)
        rows.position = position
        yield rows


def _text(block: Block, encoding: str, faults: list[Found]) -> str:
    """Decode a block; where that fails, line by line, noting the lines that are in another encoding."""
    try:
        return block.data.decode(encoding)
    except UnicodeDecodeError:
        lines = block.data.split(b"\n")
    texts: list[str] = []
    for number, line in enumerate(lines, block.first_line):
        try:
            texts.append(line.decode(encoding))
        except UnicodeDecodeError:
            texts.append(_decoded(line, encoding))
            why = NOT_UTF8 if encoding == "utf-8" else NOT_THAT_ENCODING.format(encoding=encoding)
            faults.append((number, texts[-1], why, True))
    return "\n".join(texts)


def _below_header(text: str, first_line: int, header_line: int) -> str:
    """Drop the header and what stands above it."""
    for _turn in range(max(0, header_line + 1 - first_line)):
        text = text.partition("\n")[2]
    return text


def _columns(width: int) -> list[str]:
    return [f"c{i}" for i in range(width)]


def _plain(text: str, first: int, delimiter: str, width: int) -> Rows:
    """Read a block without quotation marks."""
    data = text.encode()
    cells, ends = _count_cells(data, delimiter)
    lines = np.arange(first, first + len(cells), dtype=np.int64)
    starts = np.concatenate([[0], ends[:-1] + 1]) if len(ends) else np.zeros(0, dtype=np.int64)
    filled = ends > starts
    good = filled & (cells == width)
    faults: list[Found] = []
    if not good.all():
        wrong = np.flatnonzero(filled & ~good)
        faults += [(int(lines[i]), data[starts[i] : ends[i]].decode(), WRONG_COUNT, False) for i in wrong]
        data = b"".join(data[starts[i] : ends[i] + 1] for i in np.flatnonzero(good))
    return Rows(_parse(data, delimiter, width), lines[good], faults)


def _parse(data: bytes, delimiter: str, width: int) -> pl.DataFrame:
    if not data:
        return pl.DataFrame(schema=dict.fromkeys(_columns(width), pl.String))
    return pl.read_csv(
        data,
        has_header=False,
        separator=delimiter,
        quote_char=None,
        infer_schema=False,
        new_columns=_columns(width),
        raise_if_empty=False,
    )


def _count_cells(data: bytes, delimiter: str) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return the number of cells of each line and where it ends."""
    codes = np.frombuffer(data, dtype=np.uint8)
    ends = np.flatnonzero(codes == 10)
    if len(data) and (not len(ends) or ends[-1] != len(data) - 1):
        ends = np.append(ends, len(data))
    if not len(ends):
        return np.zeros(0, dtype=np.int64), ends
    at = np.flatnonzero(codes == ord(delimiter))
    seen = np.searchsorted(at, ends)
    return np.diff(seen, prepend=0) + 1, ends


def _cut(text: str, first: int, max_line: int) -> tuple[str, str, int]:
    """Split a block where no quoted cell is open; return the parts before and after, and the line between."""
    if text.count('"') % 2 == 0 and text.endswith("\n"):
        return text, "", 0
    codes = np.frombuffer(text.encode("utf-32-le"), dtype=np.uint32)
    ends = np.flatnonzero(codes == 10)
    closed = ends[np.searchsorted(np.flatnonzero(codes == 34), ends) % 2 == 0]
    cut = int(closed[-1]) + 1 if len(closed) else 0
    if len(text) - cut > 2 * max_line:
        return text, "", 0
    return text[:cut], text[cut:], first + text.count("\n", 0, cut)


def _quoted(text: str, first: int, delimiter: str, width: int) -> Rows:
    """Read lines that may hold quoted cells; a row not as wide as the header is tried line by line."""
    rows: list[list[str]] = []
    lines: list[int] = []
    faults: list[Found] = []
    physical = text.split("\n")
    reader = csv.reader(io.StringIO(text, newline="\n"), delimiter=delimiter)
    while True:
        start = reader.line_num
        try:
            row = next(reader)
        except StopIteration:
            break
        except csv.Error:
            row = [""] * (width + 1)
        if not row:
            continue
        if len(row) == width:
            rows.append(row)
            lines.append(first + start)
        else:
            part = _one_by_one(physical[start : reader.line_num], first + start, delimiter, width)
            rows += [list(item) for item in part.frame.rows()]
            lines += [int(line) for line in part.lines]
            faults += part.faults
    return Rows(_from_rows(rows, width), lines, faults)


def _from_rows(rows: list[list[str]], width: int) -> pl.DataFrame:
    data = {name: [row[i] for row in rows] for i, name in enumerate(_columns(width))}
    return pl.DataFrame(data, schema=dict.fromkeys(_columns(width), pl.String))


def _one_by_one(texts: list[str], first: int, delimiter: str, width: int) -> Rows:
    """Read lines each by itself, refusing those that are not as wide as the header."""
    rows, lines = [], []
    faults: list[Found] = []
    for number, text in enumerate(texts, first):
        if not text.strip():
            continue
        try:
            row = next(csv.reader([text], delimiter=delimiter))
        except csv.Error:
            row = []
        if len(row) == width and text.count('"') % 2 == 0:
            rows.append(row)
            lines.append(number)
        else:
            odd = text.count('"') % 2 == 1
            faults.append((number, text, NOT_CLOSED if odd else WRONG_COUNT, False))
    return Rows(_from_rows(rows, width), lines, faults)
