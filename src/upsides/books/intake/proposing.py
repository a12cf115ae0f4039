"""Where a table's headings stand, and which column says what: proposed by headings and by values."""

import csv
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

import polars as pl

from upsides.books.intake.days import DAY_FIRST, MONTH_FIRST, day_and_time, order_of
from upsides.books.intake.specs import RESULT, SPECS, Column, Spec, What
from upsides.errors import CellRefusedError, ColumnsError, TableUnreadableError, UnreadableError
from upsides.errors.wording import gettext as _
from upsides.results.delimited import DELIMITERS
from upsides.results.guessing import name_score
from upsides.results.profiles import Profile, profile
from upsides.results.readers import Source, open_source, read_batches
from upsides.trade.sex import Sex

NEAR_THE_TOP: Final = 30
"""Rows in which headings are looked for."""
SAMPLE: Final = 500
ENOUGH: Final = 1.5


@dataclass(frozen=True, slots=True)
class Table:
    """A table with its headings found.

    Args:
        source: where its rows are read.
        sample: its first rows, a column a heading, and their lines.
    """

    source: Source
    sample: pl.DataFrame

    @property
    def headings(self) -> tuple[str, ...]:
        """Return the headings."""
        return self.source.columns


@dataclass(frozen=True, slots=True)
class Chosen:
    """Which columns say what.

    Args:
        columns: heading by what it says; results of a laboratory stand in `results`.
        every: what is said of every row instead, as typed, by what it says.
        order: whether days are written with the day or the month first.
        results: headings that each are one result of a laboratory.
    """

    columns: Mapping[str, str]
    every: Mapping[str, str] = field(default_factory=dict)
    order: str = DAY_FIRST
    results: tuple[str, ...] = ()

    def told(self) -> dict[str, Any]:
        """Return it as plain values."""
        return {
            "columns": dict(self.columns), "every": dict(self.every), "order": self.order,
            "results": list(self.results),
        }  # fmt: skip

    @classmethod
    def of(cls, told: Mapping[str, Any]) -> "Chosen":
        """Return it from plain values."""
        return cls(told["columns"], told["every"], told["order"], tuple(told["results"]))


def open_table(place: Path, name: str, what: str) -> Table:
    """Find the headings of a kept file.

    Args:
        place: its plain text.
        name: as the file is called.
        what: what its rows are.

    Raises:
        TableUnreadableError: there are no headings, or no rows below them.
    """
    line, delimiter = _heading_line(place, name, SPECS[what])
    source = open_source(place, delimiter, header_line=line)
    frames = []
    for batch in read_batches(source):
        frames.append(batch.frame.head(SAMPLE))
        if sum(frame.height for frame in frames) >= SAMPLE:
            break
    sample = pl.concat(frames) if frames else pl.DataFrame()
    if not sample.height:
        reason = _("below the headings in line {line} there is no row with as many cells", line=line)
        raise TableUnreadableError(name, reason, _("see that each column has its heading in one row"))
    return Table(source, sample.head(SAMPLE))


def _heading_line(place: Path, name: str, spec: Spec) -> tuple[int, str]:
    """Return the line of the headings and what stands between cells: where most cells name something we know."""
    best = (0, 0, 0, 1, ",")
    with place.open(encoding="utf-8") as lines:
        for number, line in zip(range(1, NEAR_THE_TOP + 1), lines, strict=False):
            for sign in DELIMITERS:
                cells = [cell.strip() for cell in next(csv.reader([line.rstrip("\n")], delimiter=sign), [])]
                filled = [cell for cell in cells if cell]
                known = len({_named(cell, spec) for cell in filled} - {""})
                best = max(best, (known, len(filled) if known else 0, -number, number, sign), key=lambda one: one[:3])
    if not best[0]:
        reason = _("in its first {near_the_top} lines no row of headings was found", near_the_top=NEAR_THE_TOP)
        wanted = ", ".join(str(column.label) for column in spec.columns[:6])
        raise TableUnreadableError(name, reason, _("write one above the rows, such as {wanted}", wanted=wanted))
    return best[3], best[4]


def _named(cell: str, spec: Spec) -> str:
    """Return what a heading names, "" for nothing."""
    heading = profile(cell, pl.Series([], dtype=pl.String))
    scores = {column.name: name_score(heading, list(column.headings)) for column in spec.columns}
    name = max(scores, key=lambda one: scores[one])
    return name if scores[name] >= ENOUGH else ""


def propose(table: Table, spec: Spec) -> Chosen:
    """Return which column seems to say what, each at most once, by its heading and its values."""
    looked = [profile(name, table.sample[name]) for name in table.headings]
    scored = sorted(
        ((_score(column, one), column.name, one.name) for column in spec.columns for one in looked), reverse=True,
        key=lambda entry: entry[0],
    )  # fmt: skip
    chosen: dict[str, str] = {}
    for score, name, heading in scored:
        if score >= ENOUGH and name not in chosen and heading not in chosen.values():
            chosen[name] = heading
    results = _results(looked, set(chosen.values())) if spec.what == What.BLOODS and "results" not in chosen else ()
    days = table.sample[chosen["day"]].drop_nulls().to_list() if "day" in chosen else []
    return Chosen(chosen, order=order_of(days), results=results)


def _score(column: Column, one: Profile) -> float:
    named = name_score(one, list(column.headings))
    shown = _shown(column.part, one) if len(one.texts) else -9.0 if column.part else 0.0
    return named + shown if named or shown >= ENOUGH else 0.0


def _shown(part: str, one: Profile) -> float:  # noqa: PLR0911 -- one return a kind of value
    """Return what a column's values say for it: nothing, much, or that it cannot be."""
    match part:
        case "day":
            return 1.6 if _dated(one) > 0.5 else 0.4 if _dated(one, counted=True) > 0.5 else -9.0
        case "time":
            return 1.6 if one.share_matching(r"^\d{1,2}[:.]\d\d") > 0.5 and not _dated(one) else -0.5
        case "mass":
            return 1.6 if one.share_matching(r"(?i)^\d{3,4}([.,]\d+)? ?(kg|lb|lbs)?$") > 0.5 and _heavy(one) else -0.6
        case "chip":
            return 1.6 if one.share_matching(r"^\d{15}$") > 0.8 else 0.0
        case "name":
            return 0.4 if one.numeric < 0.2 else -9.0
        case "sex":
            return 1.6 if _sexed(one) else -0.5
    return 0.0


def _dated(one: Profile, *, counted: bool = False) -> float:
    """Return the share of cells that are days, those counted as spreadsheets do among them where that is asked."""
    texts = [text for text in one.texts.head(100).to_list() if counted or not text.replace(".", "").isdecimal()]
    return sum(map(_is_day, texts)) / max(1, min(100, len(one.texts)))


def _is_day(text: str) -> bool:
    for order in (DAY_FIRST, MONTH_FIRST):
        try:
            day_and_time(text, order, "")
        except CellRefusedError:
            continue
        return True
    return False


def _heavy(one: Profile) -> bool:
    numbers = one.texts.str.extract(r"^(\d{3,4})").cast(pl.Float64, strict=False).drop_nulls()
    return bool(len(numbers)) and float(numbers.is_between(200, 1700).sum()) > 0.9 * len(numbers)


def _sexed(one: Profile) -> bool:
    def known(text: str) -> bool:
        try:
            Sex.parse(text, age=3)
        except UnreadableError:
            return False
        return True

    return bool(len(one.texts)) and sum(map(known, one.texts.head(50))) >= 0.9 * min(50, len(one.texts))


def _results(looked: Sequence[Profile], taken: set[str]) -> tuple[str, ...]:
    """Return the columns of numbers that could be results of a laboratory."""
    number = r"^[<>]? ?\d{1,9}([.,]\d{1,6})?$"
    return tuple(
        one.name
        for one in looked
        if one.name not in taken and len(one.texts) and one.share_matching(number) > 0.8 and _analyte(one.name)
    )


def _analyte(heading: str) -> bool:
    return bool(re.match(r"[^\d\s<>]", heading)) and not heading.startswith("column")


def settle(chosen: Chosen, table: Table, spec: Spec) -> Chosen:
    """Return a choice as it can be used.

    Raises:
        ColumnsError: something needed is said by no column, or a heading is none of the table's.
    """
    if chosen.order not in {DAY_FIRST, MONTH_FIRST}:
        raise ColumnsError(_("days are written with {order!r} first", order=chosen.order), _("choose day or month"))
    for name, heading in [*chosen.columns.items(), *((RESULT, heading) for heading in chosen.results)]:
        if name not in spec.by_name:
            known = ", ".join(column.name for column in spec.columns)
            raise ColumnsError(
                _("no column of {what} is called {name!r}", what=spec.what, name=name),
                _("choose of {known}", known=known),
            )
        if heading not in table.headings:
            raise ColumnsError(
                _("the table has no column {heading!r}", heading=heading),
                _("choose of {headings}", headings=", ".join(table.headings)),
            )
    if lacking := missing(chosen, spec):
        labels = ", ".join(f"{column.label} ({column.name})" for column in lacking)
        raise ColumnsError(
            _("no column says {labels}", labels=labels), _("choose the column, or say the same of every row")
        )
    return chosen


def missing(chosen: Chosen, spec: Spec) -> list[Column]:
    """Return what a table needs and neither a column nor a word for every row says."""
    said = set(chosen.columns) | {name for name, typed in chosen.every.items() if typed.strip()}
    lacking = [column for column in spec.columns if column.needed and column.name not in said]
    if spec.what == What.HORSES and "foaled_on" in said:
        lacking = [column for column in lacking if column.name != "foaled"]
    if spec.kind is not None and not said & {"horse", "microchip", "passport"}:
        lacking.insert(0, spec.by_name["horse"])
    if spec.what == What.BLOODS and not chosen.results and "results" not in said:
        lacking.append(spec.by_name["results"])
    return lacking
