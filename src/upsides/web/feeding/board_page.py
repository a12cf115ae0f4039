"""A feed board, ready for its template."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.http import HttpRequest
from django.utils.translation import gettext as _

from upsides.books.queries.feeding import BarnBoard, OnBoard, boards
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import Visitor
from upsides.web.feeding.asking import asked_barn, board_address
from upsides.web.feeding.sentences import about_board
from upsides.web.feeding.words import amount, change, day_words, left_words
from upsides.web.shell.moments import asked_day


@dataclass(frozen=True, slots=True)
class Row:
    """One horse.

    Args:
        one: it as it was read.
        box: name of its box.
        cells: for each feed time its name and what the horse gets, each with what changed.
        state: what is to be said instead of, or beside, what it gets; empty for nothing.
        left: what it left last, in words; empty where nobody wrote it down.
    """

    one: OnBoard
    box: str
    cells: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
    state: str
    left: str


def board_page(request: HttpRequest, who: Visitor, moment: Moment) -> dict[str, Any]:
    """Return what the feed board of a barn on a day shows.

    Raises:
        UnreadableError: the day is none.
        Http404: there is no such barn.
    """
    day = asked_day(request.GET.get("day", ""), moment)
    found = {one.barn: one for one in boards(moment, day)}
    barn = asked_barn(request, who, list(found))
    board = found.get(barn, BarnBoard("", (), ()))
    past = request.GET.get("as_of", "")
    days = [moment.day + timedelta(days=after) for after in (-1, 0, 1)]
    return {
        "moment": moment,
        "day": day,
        "day_words": day_words(day, moment.day),
        "barn": barn,
        "sentence": about_board(barn, board.horses, day, moment.day),
        "times": board.times,
        "rows": [row_of(one, board.times) for one in board.horses],
        "barns": [(barn_words(one), board_address(one, day, moment, past), one == barn) for one in found],
        "days": [(day_words(one, moment.day), board_address(barn, one, moment, past), one == day) for one in days],
        "paper": board_address(barn, day, moment, past),
    }


def row_of(one: OnBoard, times: Sequence[str]) -> Row:
    """Return one horse, ready for a page or for paper."""
    meals = (tuple((amount(line.kg, line.feed), change(line)) for line in cell) for cell in one.row.times)
    left = left_words(one.left) if one.left else ""
    return Row(one, one.stood.name if one.stood else "", tuple(zip(times, meals, strict=True)), state_of(one), left)


def state_of(one: OnBoard) -> str:
    """Return what is said of a horse that has no ration, gets nothing, or has its first ration."""
    if one.ration is None:
        return _("No ration written")
    if one.nothing:
        return _("Gets nothing")
    return _("First ration that is written") if one.first else ""


def barn_words(barn: str) -> str:
    """Return what a barn is called."""
    return barn or _("Without a box")


def tomorrow(moment: Moment) -> date:
    """Return the day after a moment's."""
    return moment.day + timedelta(days=1)
