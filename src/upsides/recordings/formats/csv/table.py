"""The lines of a table: the names of its columns, and its cells as texts, with what is broken left out and said."""

import io
from dataclasses import dataclass
from typing import TYPE_CHECKING

from upsides.errors import RecordingRefusedError
from upsides.errors.wording import gettext as _
from upsides.recordings.formats.csv.shape import DELIMITERS, Shape
from upsides.recordings.recording import Message

if TYPE_CHECKING:
    import polars as pl

MOST_COLUMNS = 1_000


@dataclass(frozen=True, slots=True)
class Header:
    """The line of the columns' names.

    Attributes:
        names: the columns.
        delimiter: what stands between them.
        above: the lines above.
        below: the lines below.
    """

    names: tuple[str, ...]
    delimiter: str
    above: str
    below: str


def header_of(text: str, line: int, delimiter: str) -> Header:
    """Return the names of the columns that stand in a line, counted from 1; the delimiter found if it is "auto"."""
    above, rest = "", text
    for _turn in range(line - 1):
        begun, _first, rest = rest.partition("\n")
        above += begun + "\n"
    names, _first, below = rest.partition("\n")
    between = max(DELIMITERS, key=names.count) if delimiter == "auto" else delimiter
    return Header(tuple(name.strip(' \t\r"\ufeff') for name in names.split(between)), between, above, below)


def frame_of(header: Header, file: str, shape: Shape, told: list[Message]) -> "pl.DataFrame":
    """Return the table, every cell a text, the columns by their names in small letters.

    Blank rows, lines that repeat the names and a last line that is cut are left out.

    Raises:
        RecordingRefusedError: there are too many columns, or the lines are no table.
    """
    import polars as pl

    if len(header.names) > MOST_COLUMNS:
        raise RecordingRefusedError(
            file,
            _("it has {count} columns", count=len(header.names)),
            _("give at most {most_columns}", most_columns=MOST_COLUMNS),
        )
    below, cut = _without_cut(header)
    if cut:
        told.append(Message("line_cut_off", {"count": len(cut), "line": repr(cut)}))
    places = [str(i) for i in range(len(header.names))]
    frame = _parsed(below, header.delimiter, places, shape, file)
    again = pl.all_horizontal(pl.col(place) == name for place, name in zip(places, header.names, strict=True) if name)
    kept = frame.filter(~again.fill_null(False) & ~pl.all_horizontal(pl.all().is_null()))
    if repeated := frame.select(again.sum()).item():
        told.append(Message("repeated_header", {"count": repeated}))
    names = dict(zip([name.casefold() for name in reversed(header.names)], reversed(places), strict=True))
    return kept.select(pl.col(place).alias(name) for name, place in names.items())


def _without_cut(header: Header) -> tuple[str, str]:
    """Return the lines, and apart from them the last if it is not ended and has fewer columns than it should."""
    whole, newline, last = header.below.rpartition("\n")
    if last.strip() and last.count(header.delimiter) < len(header.names) - 1:
        return whole + newline, last.strip()[:80]
    return header.below, ""


def _parsed(lines: str, delimiter: str, names: list[str], shape: Shape, file: str) -> "pl.DataFrame":
    import polars as pl

    schema = dict.fromkeys(names, pl.String)
    if not lines.strip():
        return pl.DataFrame(schema=schema)
    for quote in ('"', None):  # a quote that is never closed is taken as a letter like any other
        try:
            return pl.read_csv(
                io.BytesIO(lines.encode("utf-8", "replace")),
                has_header=False,
                schema=schema,
                separator=delimiter,
                quote_char=quote,
                truncate_ragged_lines=True,
                null_values=list(shape.missing),
            ).with_columns(pl.all().str.strip_chars().replace("", None))
        except pl.exceptions.PolarsError as error:
            fault = str(error).splitlines()[0]
    raise RecordingRefusedError(file, _("it is not a table ({fault})", fault=fault), _("save it as CSV again"))
