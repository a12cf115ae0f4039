"""A horse's path to the starting stalls."""

from django.conf import settings
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _

from upsides.books.models import Inside
from upsides.books.queries.horse import seen
from upsides.books.services.sights import saw
from upsides.web.planning.stalls_page import stalls_page
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.string.following import back_there


def horse_stalls(request: VisitedRequest, number: int) -> HttpResponse:
    """Show where a horse is on the path to the stalls, its lessons, and what to mind of its next race."""
    moment = moment_of(request)
    horse = seen(request.visitor, moment, number)
    if horse is None:
        raise Http404(_("There is no horse %(number)s in this string.") % {"number": number})
    page = stalls_page(settings.UPSIDES_LIBRARY, request.visitor, moment, horse)
    if page.get("race") or page.get("planned"):
        saw(request.visitor, Inside.PLANS, request.path, number)
    return render(request, "planning/stalls.html", page | {"moment": moment, "back": back_there(request)})
