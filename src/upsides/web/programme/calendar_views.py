"""Somebody's calendar of deadlines: its addresses, and the file that calendar programs read."""

from datetime import timedelta
from typing import Final

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from upsides.books import clock
from upsides.books.models import Engagement, Inside
from upsides.books.queries import moments
from upsides.books.queries.barred import Barred
from upsides.books.queries.calendars import Noted, calendar_of, owner_of
from upsides.books.race_words import follows
from upsides.books.services.calendars import end_address, make_address
from upsides.books.services.sights import saw
from upsides.paper import Calendar, Event, calendar_file
from upsides.web.programme.deadlines_page import deadlines_page
from upsides.web.programme.reasons import reason
from upsides.web.programme.views import ways_back
from upsides.web.programme.words import STAGES, day, money, titled
from upsides.web.shell.middleware import VisitedRequest

REFRESH: Final = timedelta(hours=1)
GONE: Final = 404
PATH: Final = "/calendar/"


@require_POST
def make(request: VisitedRequest) -> HttpResponse:
    """Make an address, and show it this once."""
    token = make_address(request.visitor.person)
    page = deadlines_page(settings.UPSIDES_LIBRARY, request.visitor, moments.now(), request.path)
    address = request.build_absolute_uri(reverse("calendar_feed", args=[token]))
    return render(request, "programme/deadlines.html", page | ways_back(request) | {"address": address})


@require_POST
def end(request: VisitedRequest, number: int) -> HttpResponse:
    """End an address of one's own."""
    end_address(number, request.visitor.person)
    messages.success(request, _("That address does not work any more."))
    return redirect("deadlines")


@require_GET
def feed(_request: HttpRequest, token: str) -> HttpResponse:
    """Answer a calendar program; each reading is written down as a look at plans. The address is a secret: not kept."""
    who = owner_of(token)
    if who is None:
        return HttpResponse(_("This address of a calendar does not work any more."), status=GONE)
    found = calendar_of(settings.UPSIDES_LIBRARY, who)
    if found:
        saw(who, Inside.PLANS, PATH)
    name = _("Races of the yard")
    made = Calendar(name, get_language() or "en", REFRESH, tuple(_event(one) for one in found))
    answer = HttpResponse(calendar_file(made), content_type="text/calendar; charset=utf-8")
    answer["Cache-Control"] = "private, no-store"
    answer["Content-Disposition"] = 'inline; filename="races.ics"'
    return answer


def _event(noted: Noted) -> Event:
    if noted.barred is not None:
        return _barred(noted, noted.barred)
    one = noted.one
    told = {"name": one.horse.name, "race": titled(one.race), "course": one.race.course, "day": day(one.race.day)}
    if noted.stage is None:
        summary = _("%(name)s runs: %(race)s") % told
        return Event(noted.key, noted.at, summary, "", one.race.course, timedelta(minutes=30), noted.changed)
    told |= {"what": str(STAGES[noted.stage])}
    cost = one.due.cost if one.due else None
    lines = [_("%(race)s, %(course)s, %(day)s.") % told]
    if cost is not None:
        lines.append(_("It costs %(cost)s.") % {"cost": money(cost)})
    lines += [_("To be declared with it: %(what)s.") % {"what": fact.get_what_display()} for fact in one.to_declare]
    summary = _("%(what)s %(name)s: %(race)s") % told
    return Event(noted.key, noted.at, summary, "\n".join(lines), one.race.course, timedelta(), noted.changed)


def _barred(noted: Noted, kept: Barred) -> Event:
    """Return an event that says that a horse cannot run; it reminds only where a declared one is to be taken out."""
    one = noted.one
    told = {"name": one.horse.name, "race": titled(one.race), "course": one.race.course, "day": day(one.race.day)}
    lines = [_("%(race)s, %(course)s, %(day)s.") % told, *(reason(found) for found in kept.against)]
    lines += follows(one, kept, clock.place().zone.key)
    summary = _("%(name)s cannot run: %(race)s") % told
    lasts = timedelta(minutes=30) if noted.stage is None else timedelta()
    warn = one.engagement.state == Engagement.State.DECLARED
    return Event(noted.key, noted.at, summary, "\n".join(lines), one.race.course, lasts, noted.changed, warn)
