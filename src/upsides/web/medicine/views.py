"""Medicines, vaccinations, contacts, what is due."""

from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse, StreamingHttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from upsides.books.export.writing import csv_lines
from upsides.books.queries import moments
from upsides.books.queries.diary import written
from upsides.books.queries.doses import given_today
from upsides.books.services import given as services
from upsides.errors import UpsidesError
from upsides.web.diary.forms import client_id, device_for
from upsides.web.diary.sentences import done
from upsides.web.medicine.asking import period_of
from upsides.web.medicine.contact_page import contacts_page, isolation_page
from upsides.web.medicine.due_page import due_page
from upsides.web.medicine.forms import dose_of, entry_of, page_of
from upsides.web.medicine.register_page import lines_of, register_page, register_table
from upsides.web.shape.pages import horse_at
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.shell.printing import answered, size_of
from upsides.web.shell.refusals import told
from upsides.web.string.following import back_there


def medicines(request: VisitedRequest) -> HttpResponse:
    """Show the medicine register of a period."""
    moment = moment_of(request)
    page = register_page(moment, period_of(request.GET, moment), request.GET.get("as_of", ""))
    return render(request, "medicine/register.html", page | {"back": back_there(request)})


def register_on_paper(request: VisitedRequest) -> HttpResponse:
    """Return the register of a period as a sheet."""
    from upsides.paper import register_pdf
    from upsides.web.medicine.register_paper import register_sheet

    moment = moment_of(request)
    period = period_of(request.GET, moment)
    sheet = register_pdf(register_sheet(moment, period), size_of(request.GET))
    return answered(sheet, f"medicine-register-{period.first}-{period.last}")


def register_as_table(request: VisitedRequest) -> StreamingHttpResponse:
    """Return the register of a period as a table for a spreadsheet."""
    moment = moment_of(request)
    period = period_of(request.GET, moment)
    lines, _book, _fault = lines_of(moment, period)
    name = f"medicine-register-{period.first}-{period.last}.csv"
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    rows = csv_lines(register_table(lines), mark=True)
    return StreamingHttpResponse(rows, content_type="text/csv; charset=utf-8", headers=headers)


def medicines_of_horse(request: VisitedRequest, number: int) -> HttpResponse:
    """Show one horse's medicines: stand-downs, what is published, its vaccination record."""
    return render(request, "medicine/horse.html", page_of(request, number))


@require_POST
def give_again(request: VisitedRequest, number: int) -> HttpResponse:
    """Write today's dose of a course; a second one of the day is asked about first."""
    horse, twice = horse_at(number, moments.now()), ""
    if "again" not in request.POST:
        twice = " ".join(given_today("treatment", horse.id, moments.now()))
    if twice:
        return render(request, "medicine/horse.html", page_of(request, number, twice=twice))
    who = services.Who(request.visitor.person, device_for(request), client_id(request.POST))
    entry = services.give_again(entry_of(request.POST), horse.id, who)
    messages.success(request, done(written([entry], moments.now(), request.visitor)[0]))
    return redirect("medicines_of_horse", number)


@require_POST
def enter_dose(request: VisitedRequest, number: int) -> HttpResponse:
    """Enter a dose of vaccine that stands in the passport."""
    horse = horse_at(number, moments.now())
    who = services.Who(request.visitor.person, device_for(request), client_id(request.POST))
    try:
        on, values = dose_of(request.POST)
        entry = services.enter_dose(horse.id, on, values, who)
    except UpsidesError as error:
        page = page_of(request, number, wrong=told(error))
        return render(request, "medicine/horse.html", page, status=400)
    messages.success(request, done(written([entry], moments.now(), request.visitor)[0]))
    return redirect("medicines_of_horse", number)


def contacts_of_horse(request: VisitedRequest, number: int) -> HttpResponse:
    """Show which horses one was in contact with."""
    moment = moment_of(request)
    page = contacts_page(horse_at(number, moment), moment, request.GET)
    return render(request, "medicine/contacts.html", page | {"back": back_there(request)})


def due_list(request: VisitedRequest) -> HttpResponse:
    """Show what is due over the yard."""
    page = due_page(moment_of(request), request.GET, settings.UPSIDES_LIBRARY)
    return render(request, "medicine/due.html", page | {"back": back_there(request)})


def isolation(request: VisitedRequest) -> HttpResponse:
    """Show the horses that came lately, and whether they stand apart."""
    page = isolation_page(moment_of(request), request.GET)
    return render(request, "medicine/isolation.html", page | {"back": back_there(request)})
