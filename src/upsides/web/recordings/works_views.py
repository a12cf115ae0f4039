"""Works of a gallop and of a horse."""

from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render

from upsides.books.diary.work import ORDERERS
from upsides.books.models import Inside
from upsides.books.queries.visitors import opened
from upsides.books.services.sights import saw
from upsides.web.recordings.gallop_page import gallop_page, gallop_spec
from upsides.web.recordings.horse_page import horse_page, horse_spec
from upsides.web.shape.pages import horse_at
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.string.following import back_there


def gallop_works(request: VisitedRequest, number: int) -> HttpResponse:
    """Show everything that worked on a gallop."""
    page = gallop_page(number, moment_of(request), request.GET.dict())
    page |= _around(request) | {"may_draw": bool(ORDERERS & request.visitor.roles)}
    return render(request, "recordings/gallop.html", page)


def gallop_works_chart(request: VisitedRequest, number: int) -> JsonResponse:
    """Give the specification of a gallop's chart."""
    return JsonResponse(gallop_spec(number, moment_of(request), request.GET.dict()))


def horse_works(request: VisitedRequest, number: int) -> HttpResponse:
    """Show what a horse worked over the season."""
    moment, figures = moment_of(request), number in opened(request.visitor, Inside.FIGURES)
    page = horse_page(horse_at(number, moment), moment, figures=figures)
    if "level" in page:
        saw(request.visitor, Inside.FIGURES, request.path, number)
    return render(request, "recordings/horse.html", page | _around(request))


def horse_works_chart(request: VisitedRequest, number: int) -> JsonResponse:
    """Give the specification of a horse's chart."""
    moment = moment_of(request)
    return JsonResponse(horse_spec(horse_at(number, moment), moment))


def _around(request: HttpRequest) -> dict[str, Any]:
    query = request.GET.urlencode()
    return {"back": back_there(request), "query": f"?{query}" if query else ""}
