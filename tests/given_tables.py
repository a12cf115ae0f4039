"""Tables of a yard's own, for tests that take them in."""

import io
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import openpyxl

import worlds
from upsides.books import clock
from upsides.books.intake import files
from upsides.books.intake.checking import Counts, Opened, check, opened
from upsides.books.intake.proposing import Chosen
from upsides.books.models import Entry, Intake, Person
from upsides.books.queries import moments
from upsides.books.services.intakes import begin, take

LONDON = ZoneInfo("Europe/London")
Give = Callable[..., Opened]


def giver(library: Path) -> Give:
    """Return a function that gives a table, as text or as bytes, and opens it."""

    def given(content: str | bytes, what: str = "masses", name: str = "yard.csv") -> Opened:
        data = content.encode() if isinstance(content, str) else content
        return opened(files.keep(data, name, library).sha256, what, library)

    return given


def taken(one: Opened, by: Person, chosen: Chosen | None = None) -> tuple[Intake, Counts]:
    """Take a table in, with the columns as proposed."""
    intake = begin(one, chosen or one.proposed, by)
    return intake, take(intake, worlds.yard().library)


def standing(kind: str) -> list[Entry]:
    return list(moments.entries(moments.now()).filter(kind=kind).order_by("pk"))


def days_ago(days: int) -> date:
    return clock.today() - timedelta(days)


def masses(names: list[str], *, first: int = 1) -> str:
    rows = [f"{name},{days_ago(first + place):%d/%m/%Y},{480 + place}" for place, name in enumerate(names)]
    return "\n".join(["Horse,Date,Weight (kg)", *rows]) + "\n"


def faults(one: Opened, chosen: Chosen | None = None) -> list[tuple[int, str, str]]:
    return [(wrong.line, wrong.column, wrong.reason) for wrong in check(one, chosen or one.proposed).wrong]


def sheet(rows: list[list[Any]]) -> bytes:
    book = openpyxl.Workbook()
    book.active.title = "Empty"
    page = book.create_sheet("Weights")
    for row in rows:
        page.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def long_table(names: list[str], rows: int) -> str:
    lines = [f"{names[row % 6]},{days_ago(1 + row // 6)},{450 + row % 97}.{row % 10}" for row in range(rows)]
    return "\n".join(["Horse,Date,Mass", *lines]) + "\n"
