"""Whom to look at first, barn by barn, to be walked with: why, and room for what was seen."""

from dataclasses import dataclass

from upsides.paper.masthead import Masthead
from upsides.paper.morning import Look
from upsides.paper.typeset import typeset


@dataclass(frozen=True, slots=True)
class BarnLooks:
    """A barn: its title, and its horses with their reasons in the order of the boxes."""

    title: str
    looks: tuple[Look, ...]


@dataclass(frozen=True, slots=True)
class LookAtTitles:
    """The titles of the columns; `seen` stays blank."""

    box: str
    horse: str
    why: str
    seen: str


@dataclass(frozen=True, slots=True)
class LookAtSheet:
    """Whom to look at on a day.

    Args:
        masthead: head and foot.
        sentence: how many, in one sentence.
        titles: the titles of the columns.
        barns: those with somebody to look at, in the order they are walked.
        groups: what barns, devices and the whole yard show, a sentence each.
        nothing: the sentence that stands there where there is nobody to look at.
    """

    masthead: Masthead
    sentence: str
    titles: LookAtTitles
    barns: tuple[BarnLooks, ...]
    groups: tuple[str, ...]
    nothing: str


def look_at_pdf(sheet: LookAtSheet, size: str = "a4") -> bytes:
    """Return the sheet as a PDF, lying.

    Raises:
        PaperSizeError: there is no such size of paper.
        SheetRefusedError: the typesetter refused it.
    """
    return typeset("look_at", sheet, size)
