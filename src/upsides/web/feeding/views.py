"""The feed board, on the page and on paper."""

from django.http import HttpResponse
from django.shortcuts import render

from upsides.web.feeding.board_page import board_page
from upsides.web.shell.access import may_open
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import asked_day, moment_of
from upsides.web.shell.printing import answered, size_of
from upsides.web.string.following import back_there


def feed_board(request: VisitedRequest) -> HttpResponse:
    """Show the feed board of a barn on a day."""
    page = board_page(request, request.visitor, moment_of(request))
    page |= {"back": back_there(request), "feeds": may_open("feed_store", request.visitor.roles)}
    return render(request, "feeding/board.html", page)


def feed_board_pdf(request: VisitedRequest) -> HttpResponse:
    """Return the feed boards of all barns as a sheet."""
    from upsides.paper.feed_board import feed_board_pdf as printed
    from upsides.web.feeding.printing import board_sheet

    moment = moment_of(request)
    day = asked_day(request.GET.get("day", ""), moment)
    return answered(printed(board_sheet(moment, day), size_of(request.GET)), f"feed-board-{day}")
