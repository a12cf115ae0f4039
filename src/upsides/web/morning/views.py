"""The morning, its lots, and the list for tomorrow."""

from datetime import date

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from upsides.books import clock
from upsides.books.diary.work import Ordered
from upsides.books.models import Inside
from upsides.books.queries import moments
from upsides.books.queries.morning import away_on
from upsides.books.queries.visitors import opened
from upsides.books.services.lists import done_as_ordered, make_list, order_together
from upsides.books.services.sights import saw
from upsides.errors import UpsidesError
from upsides.web.diary.forms import device_for, row_number, values_of
from upsides.web.morning import evening_page, pages
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import asked_day, moment_of
from upsides.web.shell.refusals import told


def morning(request: VisitedRequest) -> HttpResponse:
    """Show the morning; the string to those who do not work in the yard."""
    if not request.visitor.sees_all_horses:
        return redirect("string")
    page = pages.morning_page(settings.UPSIDES_LIBRARY, request.visitor, moment_of(request), request.path)
    return render(request, "morning/morning.html", page)


def more(request: VisitedRequest) -> HttpResponse:
    """Show every page that somebody may open."""
    return render(request, "morning/more.html", {"further": pages.further(request.visitor)})


def lots(request: VisitedRequest) -> HttpResponse:
    """Show the lots of a day."""
    return render(request, "morning/lots.html", pages.lots_page(request.visitor, moment_of(request), request.GET))


@require_POST
def lot_done(request: VisitedRequest) -> HttpResponse:
    """Write that a lot did what was ordered."""
    lot, day = row_number(request.POST.get("lot", "")), asked_day(request.POST.get("day", ""), moments.now())
    count = done_as_ordered(day, lot, request.visitor.person, device_for(request))
    text = ngettext("Written for %(count)s horse.", "Written for %(count)s horses.", count)
    messages.success(request, text % {"count": count})
    return redirect("lots" if day == clock.today() else f"{reverse('lots')}?day={day}")


def evening(request: VisitedRequest) -> HttpResponse:
    """Show tomorrow's list."""
    page = evening_page.evening_page(moment_of(request), request.GET, opened(request.visitor, Inside.PLANS))
    if page["planned"]:
        saw(request.visitor, Inside.PLANS, request.path)
    return render(request, "morning/evening.html", page)


@require_POST
def evening_make(request: VisitedRequest) -> HttpResponse:
    """Order what is planned, or else the usual, for every horse that has no order yet."""
    day = asked_day(request.POST.get("day", ""), moments.now())
    count = make_list(day, request.visitor.person, away_on(moments.now(), day), device_for(request))
    text = ngettext(
        "What is planned or usual is ordered for %(count)s horse.",
        "What is planned or usual is ordered for %(count)s horses.",
        count,
    )
    messages.success(request, text % {"count": count})
    return redirect(f"{reverse('evening')}?day={day}")


def evening_horse(request: VisitedRequest, number: int) -> HttpResponse:
    """Show the order of one horse; change it."""
    day, wrong = asked_day(request.GET.get("day", ""), moments.now()), ""
    if request.method == "POST":
        typed = pages.meant(moments.now(), day, number, values_of(request.POST, Ordered))
        try:
            along = order_together(number, day, typed, request.visitor.person, device_for(request))
        except UpsidesError as error:
            wrong = told(error)
        else:
            if along:
                messages.success(request, pages.along_words(moments.now(), along))
            return redirect(f"{reverse('evening')}?day={day}#horse-{number}")
    return _order_form(request, day, number, wrong)


def _order_form(request: VisitedRequest, day: date, number: int, wrong: str) -> HttpResponse:
    """Show the form of an order, with what is planned where that is open to the visitor."""
    typed, plans = values_of(request.POST, Ordered) if wrong else None, opened(request.visitor, Inside.PLANS)
    page = pages.horse_form(moments.now(), day, number, typed, plans)
    if page is None:
        raise Http404(_("This horse is not in training on that day."))
    if page["plan"]:
        saw(request.visitor, Inside.PLANS, request.path, number)
    return render(request, "morning/horse.html", page | {"wrong": wrong}, status=400 if wrong else 200)
