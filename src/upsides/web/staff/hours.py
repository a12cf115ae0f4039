"""Changing somebody's weekly hours: what goes over a limit is told before it is kept."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from upsides.books.models import Person
from upsides.books.queries import moments
from upsides.books.queries import staff as reads
from upsides.books.queries.staff import monday_of
from upsides.books.queries.working_limits import over_limits, ruled
from upsides.books.services.staff import replanned, set_hours
from upsides.errors import NoRuleError, StaffFieldError
from upsides.rules import OverLimit, place_named
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.refusals import told
from upsides.web.staff.forms import HoursForm, hours_as_typed
from upsides.web.staff.pages import WEEK, in_words, usual, yard_ground
from upsides.web.staff.sentences import no_limits


def hours(request: VisitedRequest, number: int) -> HttpResponse:
    """Change somebody's weekly hours; hours over a limit are kept once that was shown."""
    person = get_object_or_404(Person, pk=number, erased_at=None)
    form = HoursForm(request.POST or None, initial=_initial(number))
    told_over: list[tuple[str, str]] = []
    if form.is_valid():
        try:
            told_over = _kept_or_told(person, form.cleaned_data, request.visitor.person)
        except StaffFieldError as error:
            form.add_error(error.field, told(error))
        else:
            if not told_over:
                return redirect("staff_person", number)
    return _page(request, person, form, told_over)


def _kept_or_told(person: Person, data: dict[str, Any], by: Person) -> list[tuple[str, str]]:
    """Keep hours that go over no limit, or over just those that were shown before; else return what they go over."""
    over = in_words(_over(person, data))
    if over and data["seen"] != _mark(over):
        return over
    set_hours(person, data["week"], data["first_day"], by)
    return []


def _over(person: Person, data: dict[str, Any]) -> tuple[OverLimit, ...]:
    """Return what the hours go over in the week in which they begin and in the one after, days off aside."""
    first, on = data["first_day"], yard_ground(moments.now())
    rows = replanned(person, data["week"], first).after
    try:
        weeks = [over_limits(rows, [], person.born, monday_of(first) + WEEK * n, on) for n in (0, 1)]
    except NoRuleError:
        return ()
    return weeks[0] + tuple(one for one in weeks[1] if not _told_before(one, weeks[0]))


def _told_before(one: OverLimit, earlier: tuple[OverLimit, ...]) -> bool:
    """Return whether the same is told of the same day of the week before."""
    return any(
        (one.limit, one.value, one.first.weekday()) == (before.limit, before.value, before.first.weekday())
        for before in earlier
    )


def _mark(over: list[tuple[str, str]]) -> str:
    return " ".join(words for words, _source in over)


def _initial(number: int) -> dict[str, Any]:
    """Return the hours as they stand, from next Monday on; from this one where there are none."""
    today = moments.now().day
    rows = list(reads.hours_of(moments.now(), today, number))
    start = monday_of(today) + WEEK if rows else monday_of(today)
    return hours_as_typed(usual(rows, max(start, today))) | {"first_day": start}


def _page(request: VisitedRequest, person: Person, form: HoursForm, over: list[tuple[str, str]]) -> HttpResponse:
    on = yard_ground(moments.now())
    context = {"somebody": person, "form": form, "over": over, "mark": _mark(over)}
    context["no_limits"] = "" if ruled(on, moments.now().day) else no_limits(place_named(on.jurisdiction))
    return render(request, "staff/hours.html", context)
