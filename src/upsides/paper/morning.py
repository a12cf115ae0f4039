"""The morning sheet: the sentence, whom to look at first, the lots, and what is due."""

from dataclasses import dataclass

from upsides.paper.lots import Listing, Lot, RideTitles
from upsides.paper.masthead import Masthead
from upsides.paper.typeset import typeset


@dataclass(frozen=True, slots=True)
class Look:
    """A horse to look at first, with the reasons, a line each."""

    horse: str
    box: str
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MorningSheet:
    """The morning.

    Args:
        masthead: head and foot.
        sentence: what the morning is, in one sentence.
        looks_title: the title over the horses to look at first.
        looks: those horses, the most pressing first.
        nobody: the sentence that stands there where there is none.
        titles: the titles of the lots' columns.
        lots: in the order they go out.
        no_lots: the sentence that stands there where there is none.
        lists: runners, deadlines, what is due.
    """

    masthead: Masthead
    sentence: str
    looks_title: str
    looks: tuple[Look, ...]
    nobody: str
    titles: RideTitles
    lots: tuple[Lot, ...]
    no_lots: str
    lists: tuple[Listing, ...] = ()


def morning_pdf(sheet: MorningSheet, size: str = "a4") -> bytes:
    """Return the morning sheet as a PDF, lying.

    Raises:
        PaperSizeError: there is no such size of paper.
        SheetRefusedError: the typesetter refused it.
    """
    return typeset("morning", sheet, size)
