"""What is filled in of a blood sample: rows, lines of a report, or both."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from django.utils.formats import localize_input
from django.utils.translation import gettext as _

from upsides.books import clock
from upsides.books.diary.blood import Analyte
from upsides.books.diary.vet import Bloods
from upsides.books.models import Horse
from upsides.books.services.diary import Draft
from upsides.errors import EntryRefusedError
from upsides.web.diary.forms import client_id
from upsides.web.shape.forms import seen_at

PARTS: Final = ("name", "value", "unit", "low", "high")
"""What a row holds, in the order of its columns."""
EMPTY_ROWS: Final = 3
"""Rows that are offered beside those of the last sample."""
MOST_ROWS: Final = 80


@dataclass(frozen=True, slots=True)
class Row:
    """A row of the form: its number, and what stands in it."""

    number: int
    name: str = ""
    value: str = ""
    unit: str = ""
    low: str = ""
    high: str = ""


def offered_rows(last: Sequence[Analyte]) -> list[Row]:
    """Return a row for each result of the last sample, without its value, and some that are empty."""
    rows = [
        Row(number, one.name, "", one.unit, _end(one.low), _end(one.high)) for number, one in enumerate(last, start=1)
    ]
    return rows + [Row(len(rows) + number) for number in range(1, EMPTY_ROWS + 1)]


def typed_rows(typed: Mapping[str, str]) -> list[Row]:
    """Return the rows of a form as they were typed; a row without its value stays."""
    count = sum(f"row-{number}-name" in typed for number in range(1, MOST_ROWS + 1))
    return [
        Row(number, *(typed.get(f"row-{number}-{part}", "").strip() for part in PARTS))
        for number in range(1, count + 1)
    ]


def draft_of(typed: Mapping[str, str], horse: Horse) -> Draft:
    """Return the entry that the form asks for.

    Raises:
        EntryRefusedError: a row has a value and no name, or a number or a time of the form is none.
    """
    values = {
        "laboratory": typed.get("laboratory", ""),
        "results": "\n".join([*_lines(typed_rows(typed)), typed.get("results", "").strip()]),
        "text": typed.get("text", ""),
    }
    seen = seen_at(typed.get("seen", ""), horse)
    return Draft(client_id(typed), Bloods.name, horse.pk, values, clock.now(), seen)


def _lines(rows: Sequence[Row]) -> list[str]:
    """Return the rows that have a value as lines in columns."""
    lines = []
    for row in rows:
        if not row.value:
            continue
        if not row.name:
            raise EntryRefusedError(_("results"), row.value[:40], _("nothing says what was measured"), _("name it"))
        lines.append("\t".join((row.name, row.value, row.unit, row.low, row.high)))
    return lines


def _end(value: float | None) -> str:
    return "" if value is None else str(localize_input(f"{value:.6f}".rstrip("0").rstrip(".")))
