"""Calling a horse before the tool's answer is shown; what came of calls.

What scores is loaded where it is used: pages of other areas need none of it.
"""

from uuid import uuid4

from django.conf import settings
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from upsides.books.models import Call, Horse, Inside
from upsides.books.queries import moments
from upsides.books.queries.horse import seen
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import opened
from upsides.books.services.sights import saw
from upsides.errors import CallRefusedError
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.shell.refusals import told


def calls(request: VisitedRequest) -> HttpResponse:
    """Show the horses with a run to come, to be called, and one's own last calls."""
    from upsides.web.condition.call_page import calls_page

    moment = moment_of(request)
    page = calls_page(request.visitor, moment) if _open(request) else {"moment": moment}
    return render(request, "condition/calls.html", page)


def horse_call(request: VisitedRequest, number: int) -> HttpResponse:
    """Ask what somebody thinks of a horse; keep it, and show the tool's answer beside it."""
    from upsides.web.condition.call_page import call_page

    moment = moment_of(request)
    horse = _horse(request, number, moment)
    if not _open(request):
        return render(request, "condition/calls.html", {"moment": moment})
    wrong = _kept(request, horse) if request.method == "POST" else ""
    if request.method == "POST" and not wrong:
        return redirect("horse_call", number)
    page = call_page(horse, request.visitor, moment, request.POST if wrong else None, wrong)
    if page["today"]:
        saw(request.visitor, Inside.FIGURES, request.path, number)
    return render(request, "condition/call.html", page, status=400 if wrong else 200)


def _kept(request: VisitedRequest, horse: Horse) -> str:
    """Keep what was said; return why it could not be, empty where it was."""
    from upsides.books.services.calls import call
    from upsides.web.condition.call_form import said_in

    try:
        call(settings.UPSIDES_LIBRARY, horse, said_in(request.POST), request.visitor.person)
    except CallRefusedError as error:
        return told(error)
    return ""


@require_POST
def call_take_back(request: VisitedRequest, number: int) -> HttpResponse:
    """Take one's own call of today back."""
    from upsides.books.services.calls import take_back

    old = get_object_or_404(Call, pk=number)
    take_back(old, request.visitor.person, uuid4())
    return redirect("horse_call", old.horse_id)


def call_scores(request: VisitedRequest) -> HttpResponse:
    """Show how calls have stood up, person beside tool."""
    from upsides.web.condition.scores_page import scores_page

    moment = moment_of(request)
    page = scores_page(request.visitor, moment) if _open(request) else {"moment": moment}
    if page.get("people"):
        saw(request.visitor, Inside.CALLS, request.path)
    return render(request, "condition/call_scores.html", page)


def _open(request: VisitedRequest) -> bool:
    """Return whether the tool's answers, which stand beside calls, are open to the visitor."""
    return opened(request.visitor, Inside.FIGURES).everything


def _horse(request: VisitedRequest, number: int, moment: Moment) -> Horse:
    found = seen(request.visitor, moments.now() if request.method == "POST" else moment, number)
    if found is None:
        raise Http404(_("There is no horse %(number)s in this string.") % {"number": number})
    return found
