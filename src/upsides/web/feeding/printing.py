"""The feed boards of all barns as a printed sheet."""

from collections.abc import Sequence
from datetime import date

from django.utils.formats import date_format
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from upsides.books.queries.feeding import BarnBoard, OnBoard, boards
from upsides.books.queries.moments import Moment
from upsides.paper.feed_board import FedBarn, FedHorse, FeedBoard, Meal
from upsides.web.feeding.board_page import barn_words, changed_words, row_of
from upsides.web.feeding.sentences import about_board, about_boards
from upsides.web.shell.printing import masthead


def board_sheet(moment: Moment, day: date) -> FeedBoard:
    """Return the sheet of a day, a page a barn; a barn in which no horse stands is left out."""
    found = [one for one in boards(moment, day) if one.horses]
    horses = [one for board in found for one in board.horses]
    return FeedBoard(
        masthead=masthead(moment, _("Feed board"), date_format(day, "l j F Y")),
        sentence=about_boards(horses, day, moment.day),
        box=_("Box"),
        horse=_("Horse"),
        times=tuple(capfirst(time) for time in found[0].times) if found else (),
        remark=_("To know"),
        barns=tuple(_barn(board, day, moment.day) for board in found),
        nothing=_("No horse is in training."),
    )


def _barn(board: BarnBoard, day: date, today: date) -> FedBarn:
    horses = tuple(_horse(one, board.times) for one in board.horses)
    return FedBarn(barn_words(board.barn), horses, about_board(board.barn, board.horses, day, today))


def _horse(one: OnBoard, times: Sequence[str]) -> FedHorse:
    row = row_of(one, times)
    meals = tuple(
        Meal("\n".join(words for words, _changed in cell), changed_words(lines))
        for (_time, cell), lines in zip(row.cells, one.row.times, strict=True)
    )
    left = _("Left: %(left)s") % {"left": row.left} if row.left else ""
    said = [row.state, one.ration.note if one.ration else "", left]
    return FedHorse(one.horse.name, row.box, meals, ". ".join(part for part in said if part))
