"""One person's working hours, days off and what binds a jockey."""

from datetime import date
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from upsides.books.models import Bond, DayOff, Person
from upsides.books.queries import moments
from upsides.books.queries import staff as reads
from upsides.books.queries.moments import Moment
from upsides.books.queries.staff import monday_of
from upsides.books.queries.working_limits import week_held
from upsides.books.services import staff as writes
from upsides.errors import StaffFieldError
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.shell.refusals import told
from upsides.web.staff import sentences
from upsides.web.staff.forms import BondForm, DayOffForm
from upsides.web.staff.pages import limits_shown, patterns, usual_in_words, yard_ground
from upsides.web.staff.rights import changes


def person(request: VisitedRequest, number: int) -> HttpResponse:
    """Show when somebody works."""
    return _page(request, number, moment_of(request))


@require_POST
def take_off(request: VisitedRequest, number: int) -> HttpResponse:
    """Enter days off."""
    form = DayOffForm(request.POST)
    if form.is_valid():
        data = form.cleaned_data
        first, last = data["first_day"], data["last_day"] or data["first_day"]
        try:
            writes.take_off(_somebody(number), first, last, DayOff.Why(data["why"]), request.visitor.person)
        except StaffFieldError as error:
            form.add_error(error.field, told(error))
        else:
            return redirect("staff_person", number)
    return _page(request, number, moments.now(), day_off=form)


@require_POST
def back(request: VisitedRequest, number: int) -> HttpResponse:
    """End days off today, or take back those that lie ahead."""
    row = get_object_or_404(DayOff, pk=number)
    writes.back_from(row, moments.now().day, request.visitor.person)
    return redirect("staff_person", row.person_id)


@require_POST
def bind(request: VisitedRequest, number: int) -> HttpResponse:
    """Enter what binds a jockey."""
    form = BondForm(request.POST)
    if form.is_valid():
        try:
            _bind(number, form.cleaned_data, request.visitor.person)
        except StaffFieldError as error:
            form.add_error(error.field, told(error))
        else:
            return redirect("staff_person", number)
    return _page(request, number, moments.now(), bond=form)


@require_POST
def unbind(request: VisitedRequest, number: int) -> HttpResponse:
    """End what binds a jockey: yesterday was the last day."""
    row = get_object_or_404(Bond, pk=number)
    writes.unbind(row, moments.now().day, request.visitor.person)
    messages.success(request, _("It is ended."))
    return redirect("staff_person", row.person_id)


def _bind(number: int, data: dict[str, Any], by: Person) -> None:
    kind = Bond.Kind(data["kind"])
    writes.bind(
        _somebody(number),
        kind,
        data["first_day"],
        data["last_day"],
        by,
        owner=data["owner"] if kind == Bond.Kind.RETAINER else None,
        country=data["country"],
    )


def _somebody(number: int) -> Person:
    return get_object_or_404(Person, pk=number, erased_at=None)


def _page(
    request: VisitedRequest,
    number: int,
    moment: Moment,
    day_off: DayOffForm | None = None,
    bond: BondForm | None = None,
) -> HttpResponse:
    found = moments.rows(Person, moment).filter(id=_somebody(number).pk).values_list("name", flat=True).first()
    if found is None:
        raise Http404(_("There is no person with this number."))
    context = {"moment": moment, "number": number, "name": found, "changes": changes(request.visitor)}
    context |= {"day_off": day_off or DayOffForm(), "bond": bond or BondForm()}
    return render(request, "staff/person.html", context | _hours(number, moment))


def _hours(number: int, moment: Moment) -> dict[str, Any]:
    """Return when somebody works, what the hours go over this week, and days off ahead."""
    monday, on = monday_of(moment.day), yard_ground(moment)
    rows = list(reads.hours_of(moment, moment.day, number))
    workers = [one for one in reads.through(moment, _days(monday), number) if one.number == number]
    today = next((one for worker in workers for one in worker.days if one.day == moment.day), None)
    limits = limits_shown(week_held(moment, monday, workers, on), workers, on) if rows else {}
    return limits | {
        "sentence": usual_in_words(rows, moment.day),
        "off_today": sentences.off_today(today) if today else "",
        "here": bool(today and today.spans),
        "patterns": patterns(rows),
        "days_off": [(row, sentences.days_in_words(row)) for row in reads.days_off(moment, moment.day, number=number)],
        "bonds": [(row, sentences.bond_in_words(row)) for row in reads.bonds_of(moment, number)],
    }


def _days(monday: date) -> list[date]:
    return [monday.fromordinal(monday.toordinal() + n) for n in range(7)]
