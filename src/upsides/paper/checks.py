"""Barn checks: a page a barn, a row a horse, boxes to fill in by hand."""

from dataclasses import dataclass

from upsides.paper.masthead import Masthead
from upsides.paper.typeset import typeset


@dataclass(frozen=True, slots=True)
class CheckRow:
    """A horse, and what was measured last with its day, in words; empty where nothing ever was."""

    horse: str
    box: str
    last_temperature: str = ""
    last_mass: str = ""


@dataclass(frozen=True, slots=True)
class BarnChecks:
    """A barn: its title, and its horses in the order of the boxes."""

    title: str
    rows: tuple[CheckRow, ...]


@dataclass(frozen=True, slots=True)
class CheckTitles:
    """The titles of the columns; all but `box` and `horse` stay blank. `looked_at` is a box to tick."""

    box: str
    horse: str
    looked_at: str
    temperature: str
    feed_left: str
    droppings: str
    legs: str
    remarks: str


@dataclass(frozen=True, slots=True)
class CheckSheet:
    """The checks of a day.

    Args:
        masthead: head and foot.
        sentence: how the sheet is filled in.
        titles: the titles of the columns.
        barns: in the order they are walked.
        signed: what is written by hand under each barn: who walked it, when.
        nothing: the sentence that stands there where there is no barn.
    """

    masthead: Masthead
    sentence: str
    titles: CheckTitles
    barns: tuple[BarnChecks, ...]
    signed: tuple[str, ...]
    nothing: str


def checks_pdf(sheet: CheckSheet, size: str = "a4") -> bytes:
    """Return the barn checks as a PDF, lying, each barn on pages of its own.

    Raises:
        PaperSizeError: there is no such size of paper.
        SheetRefusedError: the typesetter refused it.
    """
    return typeset("checks", sheet, size)
