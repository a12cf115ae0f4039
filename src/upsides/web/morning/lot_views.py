"""Lots planned, moved by hand, and one rider's own list."""

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from upsides.books import clock
from upsides.books.queries import moments
from upsides.books.queries.lot_morning import gather
from upsides.books.queries.lot_plans import asked_for, plan_numbered
from upsides.books.services.jobs import cancel
from upsides.books.services.lists import ride_done
from upsides.books.services.lots import ask_lots, take_lots
from upsides.errors import UpsidesError
from upsides.web.diary.forms import device_for, row_number
from upsides.web.morning import board_page, lot_plan_page, own_page
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import asked_day, moment_of
from upsides.web.shell.refusals import told


def plan(request: VisitedRequest) -> HttpResponse:
    """Show the plan of a morning beside its list; nothing where a page asks again and there is nothing new."""
    if request.headers.get("HX-Request") and lot_plan_page.nothing_new(request.GET, moment_of(request)):
        return HttpResponse(status=204)
    page = lot_plan_page.plan_page(settings.UPSIDES_LIBRARY, moment_of(request), request.GET)
    return render(request, "morning/plan.html", page)


@require_POST
def plan_ask(request: VisitedRequest) -> HttpResponse:
    """Ask a worker to plan a morning, or to plan it without a rider."""
    day, without = asked_day(request.POST.get("day", ""), moments.now()), row_number(request.POST.get("without", ""))
    ask_lots(day, without, request.visitor.person)
    return redirect(f"{reverse('lots_plan')}?{lot_plan_page.address_of(day, without)}")


@require_POST
def plan_stop(request: VisitedRequest) -> HttpResponse:
    """Stop planning a morning; the worker keeps the best plan so far."""
    day, without = asked_day(request.POST.get("day", ""), moments.now()), row_number(request.POST.get("without", ""))
    job = asked_for(day, without)
    if job is not None and job.ended_at is None:
        cancel(job, request.visitor.person)
    return redirect(f"{reverse('lots_plan')}?{lot_plan_page.address_of(day, without)}")


@require_POST
def plan_take(request: VisitedRequest) -> HttpResponse:
    """Take a plan into the list of its day."""
    day = asked_day(request.POST.get("day", ""), moments.now())
    kept = plan_numbered(row_number(request.POST.get("plan", "")) or 0, day)
    if kept is None:
        raise Http404(_("There is no such plan of that day."))
    count = take_lots(settings.UPSIDES_LIBRARY, day, kept.lots.plan, request.visitor.person, device_for(request))
    return _taken(request, count, f"{reverse('lots')}?day={day}")


def _taken(request: VisitedRequest, count: int, address: str) -> HttpResponse:
    text = ngettext("%(count)s order of the list is changed.", "%(count)s orders of the list are changed.", count)
    messages.success(request, text % {"count": count})
    return redirect(address)


def board(request: VisitedRequest) -> HttpResponse:
    """Show the board of a morning; say what moves cost and break; take it into the list."""
    day, wrong = asked_day(request.GET.get("day", ""), moments.now()), ""
    if request.method == "GET" and day < clock.today():
        return redirect(f"{reverse('lots')}?day={day}")  # what was ordered and done then, which is not moved any more
    posted = request.POST if request.method == "POST" else None
    if posted is not None and "take" in posted:
        try:
            return _board_taken(request)
        except UpsidesError as error:
            wrong = told(error)
    page = board_page.board_page(settings.UPSIDES_LIBRARY, day, posted)
    part = "morning/verdict.html" if request.headers.get("HX-Request") else "morning/board.html"
    return render(request, part, page | {"wrong": wrong}, status=400 if wrong else 200)


def _board_taken(request: VisitedRequest) -> HttpResponse:
    day, folder = asked_day(request.GET.get("day", ""), moments.now()), settings.UPSIDES_LIBRARY
    chosen = board_page.chosen_plan(gather(folder, moments.now(), day), request.POST)
    count = take_lots(folder, day, chosen, request.visitor.person, device_for(request))
    return _taken(request, count, f"{reverse('lots')}?day={day}")


def own(request: VisitedRequest) -> HttpResponse:
    """Show one rider's own list."""
    return render(request, "morning/own.html", own_page.own_page(request.visitor, moment_of(request), request.GET))


@require_POST
def done(request: VisitedRequest) -> HttpResponse:
    """Write that one horse did what was ordered."""
    horse, rider = row_number(request.POST.get("horse", "")), row_number(request.POST.get("rider", ""))
    if horse and ride_done(clock.today(), horse, request.visitor.person, device_for(request)):
        messages.success(request, _("Written."))
    return redirect(f"{reverse('lots_own')}?rider={rider or request.visitor.person.pk}")
