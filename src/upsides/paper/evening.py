"""Tomorrow's list, for evening stables: the lots, and what is otherwise than today."""

from dataclasses import dataclass

from upsides.paper.lots import Listing, Lot, RideTitles
from upsides.paper.masthead import Masthead
from upsides.paper.typeset import typeset


@dataclass(frozen=True, slots=True)
class EveningList:
    """Tomorrow.

    Args:
        masthead: head and foot; its day is tomorrow.
        sentence: what tomorrow is, and how much of it changed, in one sentence.
        key: how a change is marked, in words.
        titles: the titles of the lots' columns.
        lots: in the order they go out; a ride's `changed` says what is otherwise than today.
        no_lots: the sentence that stands there where there is none.
        lists: who stays in, runners, what is due.
    """

    masthead: Masthead
    sentence: str
    key: str
    titles: RideTitles
    lots: tuple[Lot, ...]
    no_lots: str
    lists: tuple[Listing, ...] = ()


def evening_pdf(sheet: EveningList, size: str = "a4") -> bytes:
    """Return tomorrow's list as a PDF, lying.

    Raises:
        PaperSizeError: there is no such size of paper.
        SheetRefusedError: the typesetter refused it.
    """
    return typeset("evening", sheet, size)
