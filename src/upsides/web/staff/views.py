"""Who works and who rides: today, a week, and the week on paper."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.html import format_html
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from upsides.books.models import Person
from upsides.books.queries import moments
from upsides.books.queries.morning import away_on, lots_of, missed
from upsides.books.queries.staff import monday_of
from upsides.books.services.staff import off_sick
from upsides.web.shell.access import may_open
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.shell.printing import answered, size_of
from upsides.web.staff import sentences
from upsides.web.staff.pages import asked_monday, week_page
from upsides.web.staff.sheet import week_sheet


def staff(request: VisitedRequest) -> HttpResponse:
    """Show who works today and this week."""
    moment = moment_of(request)
    context = week_page(request.visitor, moment, monday_of(moment.day))
    context["sentence"] = sentences.about_today(context["workers"], moment.day, why=context["why"])
    context["buttons"] = moment.at is None
    return render(request, "staff/staff.html", context)


def week(request: VisitedRequest) -> HttpResponse:
    """Show who works in a week."""
    moment = moment_of(request)
    context = week_page(request.visitor, moment, asked_monday(request, moment))
    context["sentence"] = sentences.about_week(context["table"])
    return render(request, "staff/week.html", context)


def week_on_paper(request: VisitedRequest) -> HttpResponse:
    """Return the week as a sheet; it hangs where everybody reads it, so it never says why somebody is off."""
    from upsides.paper.week import week_pdf

    moment = moment_of(request)
    monday = asked_monday(request, moment)
    return answered(week_pdf(week_sheet(moment, monday), size_of(request.GET)), f"week-{monday}")


@require_POST
def sick_today(request: VisitedRequest, number: int) -> HttpResponse:
    """Enter that somebody is off sick today."""
    person = get_object_or_404(Person, pk=number, erased_at=None)
    off_sick(person, moments.now().day, request.visitor.person)
    messages.success(request, _off_sick(request, person))
    if request.POST.get("back") == "staff":
        return redirect("staff")
    return redirect("staff_person", number)


def _off_sick(request: VisitedRequest, person: Person) -> str:
    """Return that somebody is off sick; who has horses today, with the way to the lots without that rider."""
    text, now = _("%(name)s is off sick today.") % {"name": person.name}, moments.now()
    away = away_on(now, now.day)
    if not may_open("lots_plan", request.visitor.roles) or (person.pk, person.name) not in missed(
        lots_of(now, now.day, away), away
    ):
        return text
    address = f"{reverse('lots_plan')}?day={now.day}&without={person.pk}"
    words = _("Plan the lots without %(name)s") % {"name": person.name}
    return format_html('{} <a href="{}">{}</a>', text, address, words)
