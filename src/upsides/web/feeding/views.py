"""The feed board, on the page and on paper."""

from django.http import HttpResponse
from django.shortcuts import render

from upsides.web.feeding.asking import asked_day
from upsides.web.feeding.board_page import board_page
from upsides.web.shell.access import may_open
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
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
    headers = {"Content-Disposition": f'inline; filename="feed-board-{day.isoformat()}.pdf"'}
    return HttpResponse(printed(board_sheet(moment, day)), content_type="application/pdf", headers=headers)
