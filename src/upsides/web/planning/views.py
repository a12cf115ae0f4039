"""A horse's plan, the string's week, and asking for both to be worked out again."""

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from upsides.books.models import Inside
from upsides.books.queries import string_plan as reads
from upsides.books.queries.condition_vet import for_the_vet, open_for_the_vet
from upsides.books.queries.diary import Written
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import opened
from upsides.books.queries.yard_rules import yard_rules
from upsides.books.services.jobs import ask
from upsides.books.services.sights import saw
from upsides.web.planning import pages
from upsides.web.shell.access import may_open
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.string.following import back_there


def horse_plan(request: VisitedRequest, number: int) -> HttpResponse:
    """Show the work that is planned for a horse."""
    moment = moment_of(request)
    found = reads.horse_plan(request.visitor, moment, number)
    if found is None:
        raise Http404(_("There is no horse %(number)s in this string.") % {"number": number})
    page = pages.horse_page(found) | {"moment": moment, "back": back_there(request), "again": _may_ask(request)}
    if found.planned is not None:
        saw(request.visitor, Inside.PLANS, request.path, number)
        page["ask_first"] = _ask_first(request, moment, number)
    return render(request, "planning/horse.html", page)


def _ask_first(request: VisitedRequest, moment: Moment, number: int) -> tuple[Written, ...]:
    """Return what stands open of a horse that a vet may want to know before it works."""
    if not request.visitor.sees_all_horses:
        return ()
    return for_the_vet(moment, number, request.visitor, yard_rules(settings.UPSIDES_LIBRARY).overrides).open


def string_plan(request: VisitedRequest) -> HttpResponse:
    """Show the days to come of every horse whose plan is open to the visitor."""
    moment = moment_of(request)
    found = reads.string_plan(request.visitor, moment)
    page = pages.string_page(found) | {"moment": moment, "back": back_there(request), "again": _may_ask(request)}
    fast = pages.fast_workers(found)
    page["ask_first"] = open_for_the_vet(moment, fast, request.visitor) if request.visitor.sees_all_horses else ()
    if found is not None and found.horses:
        saw(request.visitor, Inside.PLANS, request.path)
    return render(request, "planning/string.html", page)


@require_POST
def plan_again(request: VisitedRequest) -> HttpResponse:
    """Ask for the string's work to be planned again, a horse's page or the week being where one comes from."""
    if _may_ask(request):
        ask("plans", by=request.visitor.person)
        messages.success(request, _("Asked for: the string's work. It stands here as soon as it is worked out."))
    horse = request.POST.get("horse", "")
    return redirect("horse_plan", int(horse)) if horse.isascii() and horse.isdecimal() else redirect("string_plan")


def _may_ask(request: VisitedRequest) -> bool:
    """Return whether the visitor may have plans worked out again."""
    return may_open("plan_again", request.visitor.roles) and opened(request.visitor, Inside.PLANS).everything
