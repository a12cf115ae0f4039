"""A race."""

from django.conf import settings
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _

from upsides.books.models import Inside
from upsides.books.queries import races
from upsides.books.services.sights import saw
from upsides.web.races.race_page import race_page
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.string.following import back_there


def race(request: VisitedRequest, race_key: str) -> HttpResponse:
    """Show one race: who ran, where each finished, what each run was worth where that is open."""
    moment, who = moment_of(request), request.visitor
    found = races.race(settings.UPSIDES_LIBRARY, who, moment, race_key)
    if found is None:
        raise Http404(_("There is no race %(race)s in this library.") % {"race": race_key})
    if found.figures:
        saw(who, Inside.FIGURES, request.path)
    return render(request, "races/race.html", {"moment": moment, "back": back_there(request)} | race_page(found))
