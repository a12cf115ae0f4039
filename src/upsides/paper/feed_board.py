"""The feed board: a page a barn, what each horse gets and when, changes told in words."""

from dataclasses import dataclass

from upsides.paper.masthead import Masthead
from upsides.paper.typeset import typeset


@dataclass(frozen=True, slots=True)
class Meal:
    """What is fed at one time, and what it was before where it changed since yesterday, in words."""

    amount: str
    changed: str = ""


@dataclass(frozen=True, slots=True)
class FedHorse:
    """A horse, its meals (one for each time of the board), and what else is to be known."""

    horse: str
    box: str
    meals: tuple[Meal, ...]
    remark: str = ""


@dataclass(frozen=True, slots=True)
class FedBarn:
    """A barn: its title, and its horses in walking order."""

    title: str
    horses: tuple[FedHorse, ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class FeedBoard:
    """What is fed on a day.

    Args:
        masthead: head and foot.
        sentence: what changed, in one sentence.
        box: title of the column of boxes.
        horse: title of the column of names.
        times: titles of the columns of meals, one for each time of feeding.
        remark: title of the last column.
        barns: in walking order.
        nothing: the sentence that stands there where there is no barn.
    """

    masthead: Masthead
    sentence: str
    box: str
    horse: str
    times: tuple[str, ...]
    remark: str
    barns: tuple[FedBarn, ...]
    nothing: str


def feed_board_pdf(sheet: FeedBoard, size: str = "a4") -> bytes:
    """Return the feed board as a PDF, lying, each barn on pages of its own.

    Raises:
        PaperSizeError: there is no such size of paper.
        SheetRefusedError: the typesetter refused it: a horse with more or fewer meals than there are times.
    """
    return typeset("feed_board", sheet, size)
