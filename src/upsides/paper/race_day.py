"""A day's runners on paper: race, rider and weight, travel, what to know, room for what came of it."""

from dataclasses import dataclass

from upsides.paper.masthead import Masthead
from upsides.paper.typeset import typeset


@dataclass(frozen=True, slots=True)
class RaceDayTitles:
    """The titles of the columns; `came` stays blank."""

    off: str
    horse: str
    riding: str
    travel: str
    to_know: str
    came: str


@dataclass(frozen=True, slots=True)
class RaceDayRunner:
    """A runner; what takes several lines is given line by line."""

    off: str
    horse: str
    race: tuple[str, ...]
    riding: tuple[str, ...]
    travel: tuple[str, ...]
    to_know: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RaceDaySheet:
    """A day of racing.

    Args:
        masthead: head and foot.
        sentence: who runs where, in one sentence.
        titles: the titles of the columns.
        runners: in the order in which their races are off.
        nothing: the sentence that stands there where nobody runs.
    """

    masthead: Masthead
    sentence: str
    titles: RaceDayTitles
    runners: tuple[RaceDayRunner, ...]
    nothing: str


def race_day_pdf(sheet: RaceDaySheet, size: str = "a4") -> bytes:
    """Return the sheet as a PDF, lying.

    Raises:
        PaperSizeError: there is no such size of paper.
        SheetRefusedError: the typesetter refused it.
    """
    return typeset("race_day", sheet, size)
