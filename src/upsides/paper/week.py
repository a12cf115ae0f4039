"""The staff's week: people by days."""

from dataclasses import dataclass

from upsides.paper.masthead import Masthead
from upsides.paper.typeset import typeset


@dataclass(frozen=True, slots=True)
class DayOfWork:
    """One person's day: hours and rides in words; `off` where the day is free, in words."""

    hours: str = ""
    rides: str = ""
    off: str = ""


@dataclass(frozen=True, slots=True)
class PersonsWeek:
    """One person: name, what he does in the yard, a day for each day of the week, and his total."""

    name: str
    duty: str
    days: tuple[DayOfWork, ...]
    total: str


@dataclass(frozen=True, slots=True)
class StaffWeek:
    """The week of those who work in the yard.

    Args:
        masthead: head and foot; its day is the week.
        sentence: how the week stands, in one sentence.
        person: title of the column of names.
        days: titles of the days.
        total: title of the last column.
        people: a row each.
        sums_title: title of the last row.
        sums: what the last row says of each day, and of the week at its end.
        nothing: the sentence that stands there where there are no people.
    """

    masthead: Masthead
    sentence: str
    person: str
    days: tuple[str, ...]
    total: str
    people: tuple[PersonsWeek, ...]
    sums_title: str
    sums: tuple[str, ...]
    nothing: str


def week_pdf(sheet: StaffWeek, size: str = "a4") -> bytes:
    """Return the staff's week as a PDF, lying.

    Raises:
        PaperSizeError: there is no such size of paper.
        SheetRefusedError: the typesetter refused it: a person with more or fewer days than the week.
    """
    return typeset("week", sheet, size)
