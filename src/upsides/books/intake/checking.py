"""Every row of a table looked at before anything is written: what can be taken, what is known, what is wrong."""

import csv
import io
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import partial
from itertools import islice
from pathlib import Path
from typing import Any, Final

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from upsides.books import clock
from upsides.books.intake import files
from upsides.books.intake.finding import known
from upsides.books.intake.horses import NewHorse, in_the_books, key_of, read_horse
from upsides.books.intake.proposing import Chosen, Table, open_table, propose, settle
from upsides.books.intake.rows import Reading, Said, Wrong, blank, read_row, words_of
from upsides.books.intake.specs import SPECS, Spec
from upsides.books.models import Entry, Yard
from upsides.books.queries import moments
from upsides.errors import CellRefusedError
from upsides.results.readers import LINE, read_batches

Progress = Callable[[float, str], None]
MANY: Final = 200
"""Rows that are looked at, and written, together."""
SHOWN: Final = 200
"""Most faults that are kept to be shown; the file of what was left out holds all."""
FEW: Final = 8
_CELLS: Final = "row"


@dataclass(frozen=True, slots=True)
class Opened:
    """A kept file, opened as a table of one sort.

    Args:
        kept: the file.
        spec: what its rows are.
        table: its rows.
        proposed: which column seems to say what.
    """

    kept: files.Kept
    spec: Spec
    table: Table
    proposed: Chosen


@dataclass(frozen=True, slots=True)
class Row:
    """A row that was looked at.

    Args:
        line: in the file.
        cells: by heading; of a line that is no row, the line under `row`.
        said: the entries that it says, those left out that the diary has.
        horse: the horse that it describes.
        wrong: why it cannot be taken.
        already: how many of its entries are in the books, or in a line above.
        words: returns what it would be read as; empty for what cannot be taken.
    """

    line: int
    cells: Mapping[str, str | None]
    said: Sequence[Said] = ()
    horse: NewHorse | None = None
    wrong: Sequence[Wrong] = ()
    already: int = 0
    words: Callable[[], str] = str


@dataclass(slots=True)
class Counts:
    """What became of the rows of a table.

    Args:
        rows: rows looked at.
        fine: rows of which something can be taken.
        taken: entries or horses of them.
        already: entries or horses that are in the books already.
        refused: rows that cannot be taken.
        wrong: the first faults.
        first: the first rows as they would be read: line, words.
    """

    rows: int = 0
    fine: int = 0
    taken: int = 0
    already: int = 0
    refused: int = 0
    wrong: list[Wrong] = field(default_factory=list)
    first: list[tuple[int, str]] = field(default_factory=list)

    def add(self, row: Row) -> None:
        """Count a row."""
        count = len(row.said) + (row.horse is not None)
        self.rows += 1
        self.fine += bool(count)
        self.taken += count
        self.already += row.already
        self.refused += bool(row.wrong)
        self.wrong += list(row.wrong)[: max(0, SHOWN - len(self.wrong))]
        if len(self.first) < FEW and (words := row.words()):
            self.first.append((row.line, words))


def opened(sha256: str, what: str, library: Path) -> Opened:
    """Open a kept file.

    Raises:
        TableGoneError, TableUnreadableError: it is not there, or no table of this sort.
    """
    kept, place = files.kept(sha256, library)
    spec = SPECS[what]
    table = open_table(place, kept.name, what)
    return Opened(kept, spec, table, propose(table, spec))


def reading_of(one: Opened, chosen: Chosen) -> Reading:
    """Return how rows are read from now on.

    Raises:
        ColumnsError: the choice cannot be used.
    """
    settle(chosen, one.table, one.spec)
    where = Yard.objects.values_list("jurisdiction", flat=True).first() or ""
    headings = {column.name: chosen.columns.get(column.name) or str(column.label) for column in one.spec.columns}
    return Reading(one.spec, chosen, known(moments.now()), headings, clock.place().zone, clock.today(), where)


def looked_at(one: Opened, reading: Reading, after: int = 0, passed: set[Any] | None = None) -> Iterator[list[Row]]:
    """Yield the rows below a line, some at a time, each looked at.

    Args:
        one: the table.
        reading: how its rows are read.
        after: the last line that was done with.
        passed: what rows above said, so that none is taken twice; it is added to.
    """
    seen = passed if passed is not None else set()
    rows = (row for row in _rows(one.table) if row[0] > after)
    while some := list(islice(rows, MANY)):
        yield _known_left_out([_row(reading, *row) for row in some], reading, seen)


def check(one: Opened, chosen: Chosen, progress: Progress | None = None, most: int | None = None) -> Counts:
    """Look at every row, or at the first `most`, writing nothing."""
    reading, counts = reading_of(one, chosen), Counts()
    for some in looked_at(one, reading):
        for row in some:
            counts.add(row)
        if progress is not None:
            progress(min(1.0, counts.rows / max(one.kept.rows, 1)), "rows looked at")
        if most is not None and counts.rows >= most:
            break
    return counts


def left_out(one: Opened, chosen: Chosen) -> Iterator[str]:
    """Yield the rows that cannot be taken as lines of a CSV, with their line, and why in the last column."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(["line", *one.table.headings, "why it was left out"])
    for some in looked_at(one, reading_of(one, chosen)):
        for row in (row for row in some if row.wrong):
            cells = [row.cells.get(heading) or "" for heading in one.table.headings]
            whole = [row.cells[_CELLS] or "", *cells[1:]] if _CELLS in row.cells and len(row.cells) == 1 else cells
            writer.writerow([row.line, *map(_plain, whole), " / ".join(map(why, row.wrong))])
        yield out.getvalue()
        out.seek(0)
        out.truncate()


def why(wrong: Wrong) -> str:
    """Return on one line why a cell cannot be taken."""
    typed = f" {wrong.typed!r}" if wrong.typed else ""
    return f"{wrong.column}{typed}: {wrong.reason}; {wrong.remedy}"


def _plain(cell: str) -> str:
    from upsides.books.export.cells import defused

    return defused(cell)


def _rows(table: Table) -> Iterator[tuple[int, Mapping[str, str | None], str]]:
    """Yield line, cells and what is wrong with the line itself, in order of lines."""
    for batch in read_batches(table.source):
        read = [(int(row.pop(LINE)), row, "") for row in batch.frame.to_dicts()]
        whole = [row for row in read if not blank(row[1])]
        odd = [(fault.line, {_CELLS: fault.value}, fault.reason) for fault in batch.faults if not fault.kept]
        yield from sorted([*whole, *odd], key=lambda row: row[0]) if odd else whole


def _row(reading: Reading, line: int, cells: Mapping[str, str | None], broken: str) -> Row:
    if broken:
        remedy = "give the line as many cells as there are headings"
        return Row(line, cells, wrong=[Wrong(line, _CELLS, str(cells[_CELLS])[:60], broken, remedy)])
    if reading.spec.kind is None:
        return _horse_row(reading, line, cells)
    said, wrong = read_row(reading, line, cells)
    return Row(line, cells, said, None, wrong, words=partial(_told, reading, said))


def _told(reading: Reading, said: Sequence[Said]) -> str:
    if not said:
        return ""
    first = said[0]
    at = first.at.astimezone(reading.zone)
    told = {
        "horse": first.horse.name, "day": date_format(at, "j F Y"), "time": f"{at:%H:%M}",
        "words": " ".join(words_of(said, reading.known)),
    }  # fmt: skip
    if first.timed:
        return _("%(horse)s, %(day)s at %(time)s: %(words)s") % told
    return _("%(horse)s, %(day)s: %(words)s") % told


def _horse_row(reading: Reading, line: int, cells: Mapping[str, str | None]) -> Row:
    horse, wrong = read_horse(reading, line, cells)
    if horse is None:
        return Row(line, cells, wrong=wrong)
    try:
        there = in_the_books(horse, reading) is not None
    except CellRefusedError as error:
        return Row(line, cells, wrong=[Wrong(line, error.column, error.typed, error.reason, error.remedy)])
    return Row(line, cells, horse=None if there else horse, already=int(there), words=horse.words)


def _known_left_out(rows: list[Row], reading: Reading, passed: set[Any]) -> list[Row]:
    """Return rows without what the books hold already or a row above said."""
    if reading.spec.kind is None:
        return [_once(row, passed) for row in rows]
    there = _in_the_diary([one for row in rows for one in row.said])
    return [_new(row, there, passed) for row in rows]


def _once(row: Row, passed: set[Any]) -> Row:
    key = key_of(row.horse) if row.horse else None
    if key is None or key not in passed:
        passed.add(key)
        return row
    return Row(row.line, row.cells, already=1, words=row.words)


def _new(row: Row, there: set[Any], passed: set[Any]) -> Row:
    fresh = []
    for one in row.said:
        key = said_key(one)
        if key not in there and key not in passed:
            fresh.append(one)
        passed.add(key)
    already = len(row.said) - len(fresh)
    return Row(row.line, row.cells, fresh, None, row.wrong, already, row.words) if already else row


def _in_the_diary(said: Iterable[Said]) -> set[Any]:
    """Return what stands in the diary of some horses at some moments."""
    wanted = list(said)
    if not wanted:
        return set()
    found = moments.entries(moments.now()).filter(
        kind=wanted[0].kind,
        horse__in={one.horse.pk for one in wanted},
        happened_at__in={one.at for one in wanted},
    )
    return {_entry_key(entry) for entry in found}


def said_key(one: Said) -> tuple[Any, ...]:
    """Return what makes two entries the same: horse, moment, values."""
    return one.horse.pk, _instant(one.at), _frozen(one.read.kept())


def _entry_key(entry: Entry) -> tuple[Any, ...]:
    return entry.horse_id, _instant(entry.happened_at), _frozen(entry.values)


def _instant(at: datetime) -> float:
    return at.timestamp()


def _frozen(value: Any) -> Any:
    """Return plain values as something that can be compared and counted."""
    if isinstance(value, Mapping):
        return tuple(sorted((key, _frozen(item)) for key, item in value.items()))
    return tuple(map(_frozen, value)) if isinstance(value, list | tuple) else value
