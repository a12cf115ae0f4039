"""Files that were given to be taken in: made into one plain kind of table, and kept for a few days.

Whatever comes (CSV, TSV, XLSX, any encoding) is kept as delimited UTF-8 text whose lines have the numbers that they
had in the file, so that everything after it reads one kind of table.
"""

import csv
import hashlib
import io
import json
import os
import zipfile
from collections.abc import Iterator
from contextlib import closing, suppress
from dataclasses import asdict, dataclass
from datetime import date, datetime, time
from pathlib import Path
from typing import Any, Final

from upsides.errors import TableGoneError, TableUnreadableError
from upsides.errors.wording import gettext as _

FOLDER: Final = ".incoming"
"""Folder of the library; its name begins with a point, so that backups leave it out."""
MOST_BYTES: Final = 20_000_000
MOST_UNPACKED: Final = 400_000_000
MOST_ROWS: Final = 200_000
MOST_COLUMNS: Final = 200
KEPT_S: Final = 7 * 24 * 3600
_UTF16: Final = {b"\xff\xfe": "utf-16", b"\xfe\xff": "utf-16"}


@dataclass(frozen=True, slots=True)
class Kept:
    """A file as it is kept.

    Args:
        sha256: of the file as it was given.
        name: as it was called.
        rows: lines of it that are not empty.
        sheet: whether it was a workbook.
    """

    sha256: str
    name: str
    rows: int
    sheet: bool


def keep(content: bytes, name: str, library: Path) -> Kept:
    """Keep a file; the same file again is the same.

    Args:
        content: the file.
        name: as it is called.
        library: folder of the library.

    Raises:
        TableUnreadableError: it is no table that can be read.
    """
    called = " ".join(Path(name).name.split())[-100:] or _("table")
    if len(content) > MOST_BYTES:
        reason = _(
            "it has {count:,.0f} MB, and {most_bytes:.0f} MB is the most",
            count=len(content) / 1000000.0,
            most_bytes=MOST_BYTES / 1000000.0,
        )
        raise TableUnreadableError(called, reason, _("divide it into several files"))
    if not content.strip(b"\0 \t\r\n\xef\xbb\xbf\xff\xfe"):
        raise TableUnreadableError(called, _("it is empty"), _("give a table with a row of headings and rows below it"))
    sheet = content.startswith(b"PK\x03\x04")
    text = _sheet_text(content, called) if sheet else _plain_text(content, called)
    kept = Kept(hashlib.sha256(content).hexdigest(), called, _rows(text, called), sheet)
    folder = library / FOLDER
    folder.mkdir(mode=0o700, exist_ok=True)
    _write(folder / f"{kept.sha256}.csv", text.encode())
    _write(folder / f"{kept.sha256}.json", json.dumps(asdict(kept)).encode())
    _drop_old(folder)
    return kept


def kept(sha256: str, library: Path) -> tuple[Kept, Path]:
    """Return a kept file, and where its plain text lies.

    Raises:
        TableGoneError: it is no longer kept.
    """
    place = library / FOLDER / f"{sha256}.csv"
    try:
        if not sha256.isalnum():
            raise TableGoneError
        told = Kept(**json.loads(place.with_suffix(".json").read_text("utf-8")))
        place.touch()  # so that what somebody is at work on is not dropped
        place.with_suffix(".json").touch()
    except (OSError, ValueError, TypeError):
        raise TableGoneError from None
    return told, place


def _write(place: Path, content: bytes) -> None:
    fresh = place.with_name(f"{place.name}.{os.getpid()}.new")
    fresh.write_bytes(content)
    fresh.chmod(0o600)
    fresh.replace(place)


def _drop_old(folder: Path) -> None:
    """Drop what nobody has looked at for a week before the newest: the files hold what the yard knows."""
    with os.scandir(folder) as listed:
        found = list(listed)
    newest = max((entry.stat().st_mtime for entry in found), default=0.0)
    for entry in found:
        with suppress(FileNotFoundError):
            if entry.stat().st_mtime < newest - KEPT_S:
                Path(entry.path).unlink()


def _rows(text: str, name: str) -> int:
    rows = sum(1 for line in text.split("\n") if line.strip(" ,;\t|\r"))
    if rows > MOST_ROWS:
        reason = _("it has {rows:,} rows, and {most_rows:,} is the most", rows=rows, most_rows=MOST_ROWS)
        raise TableUnreadableError(name, reason, _("divide it into several files"))
    return rows


def _plain_text(content: bytes, name: str) -> str:
    """Return text in whatever encoding it came, line ends made alike."""
    text = _decoded(content)
    place = text.find("\0")
    if place >= 0:
        line = text.count("\n", 0, place) + 1
        reason = _("it is no text: line {line} holds a NUL", line=line)
        raise TableUnreadableError(name, reason, _("save it as CSV or XLSX and give that"))
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _decoded(content: bytes) -> str:
    """Return text by its mark, else UTF-16 where every other byte is nought, else UTF-8, else Western European."""
    if encoding := _UTF16.get(content[:2]) or _unmarked_utf16(content[:2000]):
        return content.decode(encoding, "replace")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("cp1252", "replace")


def _unmarked_utf16(start: bytes) -> str:
    even, odd = start[0::2].count(0), start[1::2].count(0)
    most = 0.4 * len(start) / 2
    return "utf-16-le" if odd > most > even else "utf-16-be" if even > most > odd else ""


def _sheet_text(content: bytes, name: str) -> str:
    """Return the first worksheet that holds something, a line a row, with what its formulas last came to."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    for row, cells in _sheet_rows(content, name):
        if row > 2 * MOST_ROWS:
            raise TableUnreadableError(
                name, _("it goes on below row {last:,}", last=2 * MOST_ROWS), _("divide it into several files")
            )
        writer.writerow(cells) if any(cells) else out.write("\n")
    return out.getvalue()


def _sheet_rows(content: bytes, name: str) -> Iterator[tuple[int, list[str]]]:
    import openpyxl
    from openpyxl.utils.exceptions import InvalidFileException

    try:
        with zipfile.ZipFile(io.BytesIO(content)) as parts:
            if sum(part.file_size for part in parts.infolist()) > MOST_UNPACKED:
                raise TableUnreadableError(
                    name, _("it unpacks to more than can be read"), _("divide it into several files")
                )
        with closing(openpyxl.load_workbook(io.BytesIO(content), read_only=True, data_only=True)) as book:
            page = next((one for one in book.worksheets if _holds_something(one)), None)
            if page is None:
                raise TableUnreadableError(name, _("it is empty"), _("give a table with headings and rows below them"))
            for number, cells in enumerate(page.iter_rows(values_only=True), start=1):
                yield number, [_cell(cell) for cell in cells[:MOST_COLUMNS]]
    except (zipfile.BadZipFile, InvalidFileException, KeyError, IndexError, ValueError, TypeError, OSError) as error:
        reason = _("it is no workbook that can be read ({error})", error=str(error)[:80])
        raise TableUnreadableError(name, reason, _("save it as XLSX or CSV and give that")) from None


def _holds_something(page: Any) -> bool:
    return any(cell is not None for row in page.iter_rows(max_row=50, values_only=True) for cell in row)


def _cell(value: object) -> str:
    """Return a cell as text on one line: days as ISO, whole numbers without a point."""
    if value is None:
        return ""
    if isinstance(value, datetime):
        return (value.date() if value.time() == time() else value.replace(microsecond=0)).isoformat()
    if isinstance(value, date | time):
        return value.isoformat()
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e16:
        return str(int(value))
    return " ".join(str(value).split())
