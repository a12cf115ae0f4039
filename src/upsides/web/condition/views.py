"""A horse's condition."""

from django.conf import settings
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _

from upsides.books.models import Inside
from upsides.books.services.sights import saw
from upsides.web.condition.past_days import past_day
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.string.following import back_there


def horse_condition(request: VisitedRequest, number: int) -> HttpResponse:
    """Show how a horse is: what it has done, fit, fresh, anything for the vet."""
    from upsides.web.condition.condition_page import (
        told_of,
    )  # it loads compiled code, which pages of other areas need not

    moment = moment_of(request)
    page = told_of(settings.UPSIDES_LIBRARY, request.visitor, moment, number)
    if page is None:
        raise Http404(_("There is no horse %(number)s in this string.") % {"number": number})
    if page["sentence"]:
        saw(request.visitor, Inside.FIGURES, request.path, number)
    past = past_day(request, moment) if page["sentence"] else {}
    return render(request, "condition/horse.html", page | {"moment": moment, "back": back_there(request), "past": past})
