"""The legs of a horse."""

from django.http import HttpResponse
from django.shortcuts import render

from upsides.web.legs.pages import legs_page
from upsides.web.shape.pages import horse_at
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of


def legs(request: VisitedRequest, number: int) -> HttpResponse:
    """Show what was found on a horse's legs lately."""
    moment = moment_of(request)
    return render(request, "legs/legs.html", legs_page(horse_at(number, moment), moment, request.visitor))
