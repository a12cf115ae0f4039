"""The feed boards of all barns as a printed sheet."""

from collections import Counter
from collections.abc import Sequence
from datetime import date

from django.utils.formats import date_format
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from upsides.books.queries.feeding import BarnBoard, OnBoard, boards
from upsides.books.queries.moments import Moment
from upsides.feeding import Line
from upsides.paper.feed_board import FedBarn, FedHorse, FeedBoard, FeedTime, Meal
from upsides.web.feeding.board_page import barn_words, row_of
from upsides.web.feeding.sentences import about_board, about_boards
from upsides.web.feeding.words import change, listed_left, plain
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
        remark=_("To know"),
        barns=tuple(_barn(board, day, moment.day) for board in found),
        nothing=_("No horse is in training."),
    )


def _barn(board: BarnBoard, day: date, today: date) -> FedBarn:
    known = Counter(line.feed for one in board.horses for lines in one.row.times for line in lines)
    order = sorted(known, key=lambda feed: (-known[feed], feed))
    feeds = [_feeds(board, place, order) for place in range(len(board.times))]
    times = tuple(
        FeedTime(_("%(time)s, kg") % {"time": capfirst(time)}, names)
        for time, names in zip(board.times, feeds, strict=True)
        if names
    )
    horses = tuple(_horse(one, board.times, feeds) for one in board.horses)
    return FedBarn(barn_words(board.barn), times, horses, about_board(board.barn, board.horses, day, today))


def _feeds(board: BarnBoard, place: int, order: Sequence[str]) -> tuple[str, ...]:
    """Return the feeds that any horse of a barn gets, or got until now, at a time, in the barn's order."""
    given = {line.feed for one in board.horses for line in one.row.times[place]}
    return tuple(feed for feed in order if feed in given)


def _horse(one: OnBoard, times: Sequence[str], feeds: Sequence[Sequence[str]]) -> FedHorse:
    row = row_of(one, times)
    meals = tuple(
        _meal({line.feed: line for line in lines}.get(feed))
        for lines, names in zip(one.row.times, feeds, strict=True)
        for feed in names
    )
    left = one.left.what if one.left and one.left.what.left != "nothing" else None
    eaten = _("Left: %(left)s") % {"left": listed_left(left)} if left else ""
    said = [row.state, one.ration.note if one.ration else "", eaten]
    return FedHorse(one.horse.name, row.box, meals, ". ".join(part for part in said if part))


def _meal(line: Line | None) -> Meal:
    return Meal(plain(line.kg) if line.kg else _("none"), change(line)) if line else Meal("")
