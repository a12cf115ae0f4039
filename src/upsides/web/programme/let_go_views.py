"""Races let go: week by week, with what was known when entries closed and why each was passed."""

from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from upsides.books.models import LetGo
from upsides.books.queries.let_go import closed_on
from upsides.books.services.let_go import say_why as write_why
from upsides.web.programme.forms import reason_of
from upsides.web.programme.let_go_page import let_go_page
from upsides.web.programme.views import ways_back
from upsides.web.shell.access import may_open
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of


def let_go(request: VisitedRequest) -> HttpResponse:
    """Show the races of a week that were let go, and over the season which reasons cost most."""
    page = let_go_page(settings.UPSIDES_LIBRARY, request.visitor, moment_of(request), request.GET, request.path)
    page |= ways_back(request) | {"may_say": may_open("let_go_why", request.visitor.roles)}
    return render(request, "programme/let_go.html", page)


@require_POST
def say_why(request: VisitedRequest, number: int) -> HttpResponse:
    """Write why a race was passed."""
    row = write_why(number, *reason_of(request.POST), request.visitor.person)
    week = closed_on(LetGo.objects.get(pk=number))
    messages.success(request, _("Written down: %(what)s.") % {"what": row.get_reason_display()})
    return redirect(f"/races-let-go/?week={week}#row-{number}")
