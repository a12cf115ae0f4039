"""Races to come: the programme, one race, a horse's races, deadlines, what a win costs."""

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from upsides.books.queries import moments
from upsides.books.services.deciding import decide
from upsides.errors import UpsidesError
from upsides.web.programme.chance_page import chance_page
from upsides.web.programme.deadlines_page import deadlines_page
from upsides.web.programme.draw_page import draw_page
from upsides.web.programme.entry_page import decided, entry_page, forms_of
from upsides.web.programme.forms import said_of
from upsides.web.programme.horse_page import horse_page
from upsides.web.programme.race_page import race_page
from upsides.web.programme.week_page import week_page
from upsides.web.programme.win_costs_page import win_costs_page
from upsides.web.shell.access import may_open
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.shell.refusals import told
from upsides.web.string.following import back_there


def ways_back(request: VisitedRequest) -> dict[str, str]:
    """Return what links of a page add, so that they stay at the moment that it looks from."""
    back = back_there(request)
    return {"back": back, "and_back": back.replace("?", "&", 1)}


def programme(request: VisitedRequest) -> HttpResponse:
    """Show the races of a week."""
    folder = settings.UPSIDES_LIBRARY
    page = week_page(folder, request.visitor, moment_of(request), request.GET, request.path)
    page |= ways_back(request) | {"library": folder, "may_take": may_open("programme_new", request.visitor.roles)}
    return render(request, "programme/week.html", page)


def programme_race(request: VisitedRequest, code: str) -> HttpResponse:
    """Show one race to come."""
    page = race_page(settings.UPSIDES_LIBRARY, request.visitor, moment_of(request), code, request.path)
    if page is None:
        raise Http404(_("No programme that was heard names this race."))
    return render(request, "programme/race.html", page | ways_back(request))


def horse_races(request: VisitedRequest, number: int) -> HttpResponse:
    """Show the races of the days ahead for one horse."""
    page = horse_page(settings.UPSIDES_LIBRARY, request.visitor, moment_of(request), number, request.path)
    if page is None:
        raise Http404(_("There is no horse %(number)s in this string.") % {"number": number})
    return render(request, "programme/horse.html", page | ways_back(request))


def win_costs(request: VisitedRequest, number: int, code: str) -> HttpResponse:
    """Show what a win in a race would cost a horse."""
    where, when = settings.UPSIDES_LIBRARY, moment_of(request)
    page = win_costs_page(where, request.visitor, when, number, code, request.path, request.GET)
    if page is None:
        raise Http404(_("No programme that was heard names this race, or the string has no such horse."))
    return render(request, "programme/win_costs.html", page | ways_back(request))


def deadlines(request: VisitedRequest) -> HttpResponse:
    """Show what has to be said of races."""
    page = deadlines_page(settings.UPSIDES_LIBRARY, request.visitor, moment_of(request), request.path)
    return render(request, "programme/deadlines.html", page | ways_back(request))


def race_horse(request: VisitedRequest, code: str, number: int) -> HttpResponse:
    """Show one horse and one race, and what can be said of them."""
    return _entry(request, code, number)


def race_chance(request: VisitedRequest, code: str, number: int) -> HttpResponse:
    """Show one horse's chance in a race, and what it rests on."""
    page = chance_page(settings.UPSIDES_LIBRARY, request.visitor, moment_of(request), code, number, request.path)
    if page is None:
        raise Http404(_("No programme that was heard names this race, or the string has no such horse."))
    says = bool(page.get("black_type")) and may_open("black_type", request.visitor.roles)
    return render(request, "programme/chance_page.html", page | ways_back(request) | {"says_black_type": says})


def draw(request: VisitedRequest) -> HttpResponse:
    """Show what each stall is worth at a start."""
    page = draw_page(settings.UPSIDES_LIBRARY, moment_of(request), request.GET)
    return render(request, "programme/draw.html", page | ways_back(request))


@require_POST
def say(request: VisitedRequest, code: str, number: int) -> HttpResponse:
    """Write down what is said of a horse and a race."""
    try:
        made = decide(settings.UPSIDES_LIBRARY, said_of(request.POST, number, code), request.visitor.person)
    except UpsidesError as error:
        return _entry(request, code, number, told(error))
    messages.success(request, _("Written down: %(what)s.") % {"what": decided(made)})
    return redirect("race_horse", code, number)


def _entry(request: VisitedRequest, code: str, number: int, wrong: str = "") -> HttpResponse:
    moment, folder = (moments.now() if wrong else moment_of(request)), settings.UPSIDES_LIBRARY
    page = entry_page(folder, request.visitor, moment, code, number, request.path)
    if page is None:
        raise Http404(_("No programme that was heard names this race, or the string has no such horse."))
    if page["open"] and may_open("race_say", request.visitor.roles) and (not page["after_run"] or page["engaged"]):
        page |= {"forms": forms_of(folder, page["horse"], page["race"], page["engaged"])}
    page |= ways_back(request) | {"wrong": wrong}
    return render(request, "programme/entry.html", page, status=400 if wrong else 200)
