"""Tables written as CSV, one file a table, and as a workbook, one sheet a table."""

import csv
import io
import re
import zipfile
from collections.abc import Callable, Iterator, Sequence
from datetime import date
from pathlib import Path
from typing import IO, Any, Final

from upsides.books.export.cells import Cell, defused, plain
from upsides.books.export.tables import Sheet
from upsides.errors import ExportPlaceError
from upsides.errors.wording import gettext as _

MOST_ROWS: Final = 1_048_575
"""Rows below the headings that a sheet of a workbook holds."""
_EARLIEST: Final = date(1900, 3, 1)
"""Days before it are text: spreadsheets count them wrongly or not at all."""
Progress = Callable[[float, str], None]


def unheard(_share: float, _what: str) -> None:
    """Tell nobody."""


def csv_lines(sheet: Sheet, *, mark: bool = False) -> Iterator[bytes]:
    """Yield a table as lines of a CSV in UTF-8.

    Args:
        sheet: the table.
        mark: whether the file begins with the mark by which older spreadsheets know UTF-8.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    if mark:
        out.write("\ufeff")
    writer.writerow(map(defused, sheet.headings))
    for row in sheet.rows():
        writer.writerow(map(plain, row))
        if out.tell() > 1 << 16:
            yield _emptied(out)
    yield _emptied(out)


def _emptied(out: io.StringIO) -> bytes:
    text = out.getvalue()
    out.seek(0)
    out.truncate()
    return text.encode()


def write_csv(sheets: Sequence[Sheet], folder: Path, progress: Progress = unheard, *, mark: bool = False) -> list[Path]:
    """Write each table into a new file of a folder, all of them or none.

    Raises:
        ExportPlaceError: there is a file of that name.
    """
    for sheet in sheets:
        if (folder / f"{sheet.name}.csv").exists():
            raise ExportPlaceError(
                folder, _("there is a file {name}.csv in it", name=sheet.name), _("name a new folder")
            )
    folder.mkdir(parents=True, exist_ok=True)
    written: list[tuple[Path, Path]] = []
    try:
        for number, sheet in enumerate(sheets):
            progress(number / len(sheets), sheet.name)
            fresh = folder / f".{sheet.name}.csv.part"
            written.append((fresh, folder / f"{sheet.name}.csv"))
            with fresh.open("wb") as out:
                out.writelines(csv_lines(sheet, mark=mark))
    except BaseException:
        for fresh, _rest in written:
            fresh.unlink(missing_ok=True)
        raise
    return [fresh.rename(place) for fresh, place in written]


def csv_zip(sheets: Sequence[Sheet], out: IO[bytes], *, mark: bool = True) -> None:
    """Write tables as CSV files in one ZIP."""
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for sheet in sheets:
            with packed.open(f"{sheet.name}.csv", "w") as part:
                for some in csv_lines(sheet, mark=mark):
                    part.write(some)


def write_xlsx(sheets: Sequence[Sheet], out: IO[bytes], progress: Progress = unheard) -> None:
    """Write tables as one workbook; a table that has more rows than a sheet holds goes on in another."""
    import openpyxl

    book = openpyxl.Workbook(write_only=True)
    for number, sheet in enumerate(sheets):
        progress(number / len(sheets), sheet.name)
        _fill(book, sheet)
    book.save(out)


def _fill(book: Any, sheet: Sheet) -> None:
    page, count, part = _begun(book, sheet, 1), 0, 1
    for row in sheet.rows():
        if count == MOST_ROWS:
            part, count = part + 1, 0
            page = _begun(book, sheet, part)
        page.append([_cell(page, cell) for cell in row])
        count += 1


def _begun(book: Any, sheet: Sheet, part: int) -> Any:
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    title = sheet.name if part == 1 else f"{sheet.name} {part}"
    page = book.create_sheet(re.sub(r"[\[\]:*?/\\]", " ", title)[:31])
    page.freeze_panes = "A2"
    for number, heading in enumerate(sheet.headings, start=1):
        page.column_dimensions[get_column_letter(number)].width = max(12, min(40, len(heading) + 4))
    cells = [WriteOnlyCell(page, defused(heading)) for heading in sheet.headings]
    for cell in cells:
        cell.font = Font(bold=True)
    page.append(cells)
    return page


def _cell(page: Any, cell: Cell) -> Any:
    """Return a cell of a workbook: numbers and days as such, text as text, whatever it begins with."""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, int | float) or cell is None:
        return cell
    if isinstance(cell, date):
        return cell if (cell.year, cell.month) >= (_EARLIEST.year, _EARLIEST.month) else plain(cell)
    from openpyxl.cell import WriteOnlyCell

    made = WriteOnlyCell(page, defused(cell))
    made.data_type = "s"
    return made
