"""A horse's plan, its days moved by hand, the string's week, and asking for both to be worked out again."""

from collections.abc import Collection
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from upsides.books import clock
from upsides.books.models import Inside
from upsides.books.queries import moments
from upsides.books.queries import string_plan as reads
from upsides.books.queries.condition_vet import for_the_vet, open_for_the_vet
from upsides.books.queries.diary import Written
from upsides.books.queries.jobs import open_job
from upsides.books.queries.moments import Moment
from upsides.books.queries.plan_values import HorsePlan
from upsides.books.queries.visitors import opened
from upsides.books.queries.yard_rules import yard_rules
from upsides.books.services.jobs import ask, cancel
from upsides.books.services.plan_moves import move_day, take_back_move
from upsides.books.services.plans import choose_plan
from upsides.books.services.sights import saw
from upsides.errors import UpsidesError
from upsides.web.diary.forms import device_for, row_number
from upsides.web.jobs.sentences import told as job_told
from upsides.web.planning import moves, pages
from upsides.web.planning.others_page import chosen_words
from upsides.web.shell.access import may_open
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.shell.refusals import told
from upsides.web.string.following import back_there


def horse_plan(request: VisitedRequest, number: int) -> HttpResponse:
    """Show the work that is planned for a horse."""
    return _horse_page(request, number)


@require_POST
def plan_choose(request: VisitedRequest, number: int) -> HttpResponse:
    """Order another of a horse's plans, and have the string's work planned round it."""
    found = _found(request, moments.now(), number)
    answer, place = (row_number(request.POST.get(name, "")) for name in ("answer", "place"))
    _must_be_open(found)
    try:
        days = choose_plan(found.horse, answer, place, request.visitor.person, device_for(request))
    except UpsidesError as error:
        return _horse_page(request, number, told(error))
    ask("plans", by=request.visitor.person, afresh=True)
    messages.success(request, chosen_words(days))
    return redirect("horse_plan", number)


def _must_be_open(found: HorsePlan) -> None:
    if not found.open:
        raise PermissionDenied


@require_POST
def plan_move(request: VisitedRequest, number: int) -> HttpResponse:
    """Move what a horse's plan has on one day to another, and have the string's work planned round it."""
    found = _found(request, moments.now(), number)
    _must_be_open(found)
    try:
        moved = move_day(found.horse, *moves.asked(request.POST), request.visitor.person, device_for(request))
    except UpsidesError as error:
        return _horse_page(request, number, told(error))
    return _moved(request, number, moves.moved_words(moved))


@require_POST
def plan_back(request: VisitedRequest, number: int) -> HttpResponse:
    """Take back that a day was moved, and have the string's work planned as it was before."""
    found = _found(request, moments.now(), number)
    _must_be_open(found)
    try:
        back = take_back_move(
            found.horse, moves.day_of(request.POST, "day"), request.visitor.person, device_for(request)
        )
    except UpsidesError as error:
        return _horse_page(request, number, told(error))
    return _moved(request, number, moves.back_words(back))


def _moved(request: VisitedRequest, number: int, words: str) -> HttpResponse:
    ask("plans", by=request.visitor.person, afresh=True)
    messages.success(request, words)
    return redirect("horse_plan", number)


def _found(request: VisitedRequest, moment: Moment, number: int) -> HorsePlan:
    found = reads.horse_plan(request.visitor, moment, number)
    if found is None:
        raise Http404(_("There is no horse %(number)s in this string.") % {"number": number})
    return found


def _horse_page(request: VisitedRequest, number: int, wrong: str = "") -> HttpResponse:
    """Show a horse's plan, with what went wrong in choosing another."""
    moment = moments.now() if wrong else moment_of(request)
    found = _found(request, moment, number)
    chooses = may_open("plan_choose", request.visitor.roles) and moment.at is None
    page = pages.horse_page(found, moment.day if chooses else None) | {
        "moment": moment,
        "back": back_there(request),
        **_asking(request, moment),
    }
    page |= {"wrong": wrong, "chooses": chooses}
    if found.planned is not None:
        saw(request.visitor, Inside.PLANS, request.path, number)
        page["ask_first"] = _ask_first(request, moment, number)
    return render(request, "planning/horse.html", page, status=400 if wrong else 200)


def _ask_first(request: VisitedRequest, moment: Moment, number: int) -> tuple[Written, ...]:
    """Return what stands open of a horse that a vet may want to know before it works."""
    if not request.visitor.sees_all_horses:
        return ()
    return for_the_vet(moment, number, request.visitor, yard_rules(settings.UPSIDES_LIBRARY).overrides).open


def _ask_of(request: VisitedRequest, moment: Moment, horses: Collection[int]) -> frozenset[int]:
    """Return the horses of which something stands open that a vet may want to know before they work."""
    if not request.visitor.sees_all_horses:
        return frozenset()
    return open_for_the_vet(moment, horses, request.visitor, yard_rules(settings.UPSIDES_LIBRARY).overrides)


def string_plan(request: VisitedRequest) -> HttpResponse:
    """Show the days to come of every horse whose plan is open to the visitor."""
    moment = moment_of(request)
    found = reads.string_plan(request.visitor, moment)
    page = pages.string_page(found) | {"moment": moment, "back": back_there(request), **_asking(request, moment)}
    fast = pages.fast_workers(found)
    page["ask_first"] = _ask_of(request, moment, fast)
    if found is not None and found.horses:
        saw(request.visitor, Inside.PLANS, request.path)
    return render(request, "planning/string.html", page)


@require_POST
def plan_again(request: VisitedRequest) -> HttpResponse:
    """Ask for the string's work to be planned again, a horse's page or the week being where one comes from."""
    if _may_ask(request):
        ask("plans", {"afresh": True} if "afresh" in request.POST else None, by=request.visitor.person)
        messages.success(request, _("Asked for: the string's work. It stands here as soon as it is worked out."))
    return _back(request)


@require_POST
def plan_stop(request: VisitedRequest) -> HttpResponse:
    """Stop planning the string's work; the worker keeps the best plan so far."""
    job = open_job("plans") if _may_ask(request) else None
    if job is not None:
        cancel(job, request.visitor.person)
        messages.success(request, _("Asked to stop. The best plan so far is kept, if there is one."))
    return _back(request)


def _back(request: VisitedRequest) -> HttpResponse:
    horse = request.POST.get("horse", "")
    return redirect("horse_plan", int(horse)) if horse.isascii() and horse.isdecimal() else redirect("string_plan")


def _asking(request: VisitedRequest, moment: Moment) -> dict[str, Any]:
    """Return whether the visitor may have plans worked out again, and how far that is where it is asked for."""
    again = _may_ask(request)
    job = open_job("plans") if again and moment.at is None else None
    return {"again": again, "job": job and job_told(job, clock.now())}


def _may_ask(request: VisitedRequest) -> bool:
    """Return whether the visitor may have plans worked out again."""
    return may_open("plan_again", request.visitor.roles) and opened(request.visitor, Inside.PLANS).everything
