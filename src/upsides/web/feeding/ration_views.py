"""A horse's ration: shown, written, taken back, copied to others."""

from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from upsides.books.models import Horse, Ration
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment
from upsides.books.services.feeding import take_back, write_ration
from upsides.errors import UpsidesError
from upsides.web.feeding.ration_form import RationForm
from upsides.web.feeding.ration_page import form_of, ration_page
from upsides.web.feeding.several_page import copied, several_page
from upsides.web.feeding.words import day_words
from upsides.web.shape.pages import horse_at
from upsides.web.shell.access import may_open
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.shell.refusals import told
from upsides.web.string.following import back_there


def ration(request: VisitedRequest, number: int) -> HttpResponse:
    """Show a horse's ration against what it needs."""
    moment, who = moment_of(request), request.visitor
    page = ration_page(settings.UPSIDES_LIBRARY, who, moment, horse_at(number, moment), request.GET)
    page |= {"back": back_there(request), "feeds": may_open("ration_write", who.roles)}
    return render(request, "feeding/ration.html", page)


@require_POST
def ration_write(request: VisitedRequest, number: int) -> HttpResponse:
    """Take in a ration from a day on; the page again with what was typed where something cannot be right."""
    moment = moments.now()
    horse = horse_at(number, moment)
    shown = form_of(moment, horse)
    form = RationForm.sent(shown.feeds, shown.times, request.POST)
    try:
        day, amounts = form.read(moment)
        write_ration(horse, day, amounts, request.visitor.person, form.note)
    except UpsidesError as error:
        return _again(request, horse, moment, form, error)
    words = {"horse": horse.name, "day": day_words(day, moment.day)}
    messages.success(request, _("The ration of %(horse)s holds from %(day)s on.") % words)
    return redirect("ration", number)


def _again(
    request: VisitedRequest, horse: Horse, moment: Moment, form: RationForm, error: UpsidesError
) -> HttpResponse:
    """Show what was typed once more, with all that was refused."""
    form.errors = form.errors or [told(error)]
    page = ration_page(settings.UPSIDES_LIBRARY, request.visitor, moment, horse, request.GET, form)
    return render(request, "feeding/ration.html", page | {"back": "", "feeds": True}, status=400)


@require_POST
def ration_back(request: VisitedRequest, number: int) -> HttpResponse:
    """Take a ration back, so that the one before it goes on."""
    row = get_object_or_404(Ration, pk=number)
    take_back(row, request.visitor.person)
    messages.success(request, _("That ration is taken back; the one before it goes on."))
    return redirect("ration", row.horse_id)


def feed_several(request: VisitedRequest) -> HttpResponse:
    """Give one horse's ration to several, and then show the board of the day from which it holds."""
    moment, wrong = moment_of(request), ""
    if request.method == "POST":
        try:
            written = copied(request.POST, moments.now(), request.visitor.person)
        except UpsidesError as error:
            wrong = told(error)
        else:
            words = ngettext("%(number)s ration written.", "%(number)s rations written.", len(written))
            messages.success(request, words % {"number": len(written)})
            return redirect(f"{reverse('feed_board')}?day={written[0].first_day.isoformat()}")
    page = several_page(moment, request.POST or request.GET) | {"wrong": wrong, "back": back_there(request)}
    return render(request, "feeding/several.html", page, status=400 if wrong else 200)
