"""The feed board: a page a barn, what each horse gets and when, changes told in words."""

from dataclasses import dataclass

from upsides.paper.masthead import Masthead
from upsides.paper.typeset import typeset


@dataclass(frozen=True, slots=True)
class Meal:
    """What is fed of one feed at one time, "" for none of it, and what it was where it changed, in words."""

    amount: str
    changed: str = ""


@dataclass(frozen=True, slots=True)
class FedHorse:
    """A horse, its amounts (one for each feed of each time of its barn), and what else is to be known."""

    horse: str
    box: str
    meals: tuple[Meal, ...]
    remark: str = ""


@dataclass(frozen=True, slots=True)
class FeedTime:
    """A time of feeding: its title, and the feeds that anything in the barn gets then."""

    title: str
    feeds: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FedBarn:
    """A barn: its title, its times with their feeds, and its horses in walking order."""

    title: str
    times: tuple[FeedTime, ...]
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
        remark: title of the last column.
        barns: in walking order.
        nothing: the sentence that stands there where there is no barn.
    """

    masthead: Masthead
    sentence: str
    box: str
    horse: str
    remark: str
    barns: tuple[FedBarn, ...]
    nothing: str


def feed_board_pdf(sheet: FeedBoard, size: str = "a4") -> bytes:
    """Return the feed board as a PDF, each barn on pages of its own.

    Raises:
        PaperSizeError: there is no such size of paper.
        SheetRefusedError: the typesetter refused it: a horse with more or fewer amounts than its barn has feeds.
    """
    return typeset("feed_board", sheet, size)
