"""A day of racing, on the page and on paper."""

from typing import Final

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from upsides import paper
from upsides.books.queries import moments
from upsides.books.queries.programme import programme
from upsides.books.services.race_day import write_card, write_runners
from upsides.web.programme.forms import card_of
from upsides.web.programme.race_day_page import race_day_page
from upsides.web.programme.words import long_day
from upsides.web.shell.access import may_open
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.shell.printing import answered, masthead, size_of
from upsides.web.string.following import back_there

LONGEST_CARD: Final = 6000
TO_KNOW: Final = ("pace", "stalls", "vaccination", "over", "hindrances", "against", "notes", "declare")
"""What the sheet says under that heading, in its order."""


def race_day(request: VisitedRequest) -> HttpResponse:
    """Show a day's runners, and what a card and a journey need of each."""
    page = race_day_page(settings.UPSIDES_LIBRARY, request.visitor, moment_of(request), request.GET, request.path)
    back = back_there(request)
    page |= {
        "back": back,
        "and_back": back.replace("?", "&", 1),
        "may_write": may_open("race_day_card", request.visitor.roles),
    }
    return render(request, "programme/race_day.html", page)


@require_POST
def card(request: VisitedRequest, number: int) -> HttpResponse:
    """Write what a card and a journey need of a runner."""
    seen, typed = card_of(request.POST)
    row = write_card(number, seen, typed, request.visitor.person)
    messages.success(request, _("Written down."))
    return redirect(f"/race-day/?day={row.day}#runner-{number}")


@require_POST
def runners(request: VisitedRequest, code: str) -> HttpResponse:
    """Write down the runners of a race as its card names them."""
    folder = settings.UPSIDES_LIBRARY
    race = programme(folder, moments.now()).races.get(code)
    if race is None:
        raise Http404(_("No programme that was heard names this race."))
    write_runners(folder, code, request.POST.get("runners", "")[:LONGEST_CARD].replace("\0", ""))
    messages.success(request, _("Written down."))
    return (
        redirect("programme_race", code) if request.POST.get("to") == "race" else redirect(f"/race-day/?day={race.day}")
    )


def sheet(request: VisitedRequest) -> HttpResponse:
    """Print a day's runners, each with a line for what comes of it."""
    moment = moment_of(request)
    page = race_day_page(settings.UPSIDES_LIBRARY, request.visitor, moment, request.GET, request.path)
    day = page["day"]
    note = _("The authority's card and current rules go before this sheet. A stand-down that has ended proves nothing.")
    papers = _("On vaccination the passport, the code and the vet decide.")
    made = paper.RaceDaySheet(
        masthead=masthead(moment, _("Race day"), long_day(day), f"{note} {papers}"),
        sentence=page["sentence"],
        titles=paper.RaceDayTitles(*_titles()),
        runners=tuple(_runner(one) for one in page["runners"]),
        nothing=_("No horse is declared."),
    )
    return answered(paper.race_day_pdf(made, size_of(request.GET)), f"race-day-{day}")


def _titles() -> tuple[str, ...]:
    return (_("Off"), _("Horse and race"), _("Jockey and weight"), _("Travel"), _("To know"), _("What came of it"))


def _runner(one: dict[str, object]) -> paper.RaceDayRunner:
    draw = getattr(one["row"], "draw", None)
    weights = _("%(weight)s on the card") % {"weight": one["weight"]}
    claimed = _("%(weight)s after the claim") % {"weight": one["after_claim"]} if one["after_claim"] else ""
    stall = _("stall %(draw)s") % {"draw": draw} if draw else ""
    leaves = _("leaves %(at)s") % {"at": one["leaves"]} if one["leaves"] else ""
    back = _("back %(at)s") % {"at": one["back"]} if one["back"] else ""
    away = _("away %(away)s") % {"away": one["away"]} if one["away"] else ""
    passport = _("passport %(number)s") % {"number": one["passport"] or _("not written down")}
    driver = _("driver %(name)s") % {"name": one["driver"]} if one["driver"] else ""
    led = _("led up by %(name)s") % {"name": one["leads_up"]} if one["leads_up"] else ""
    one = {**one, "vaccination": [words for words, _rule in _pairs(one["doses"])[:-1]]}
    row = one["row"]
    return paper.RaceDayRunner(
        off=str(one["off"]),
        horse=getattr(one["horse"], "name", ""),
        race=_lines(one["race"], one["about"], one["going"]),
        riding=_lines(one["jockey"], weights, claimed, stall, getattr(row, "gear", ""), getattr(row, "colours", "")),
        travel=_lines(leaves, back, driver, away, led, passport),
        to_know=_lines(*(str(each) for name in TO_KNOW for each in _list(one[name]))),
    )


def _pairs(found: object) -> list[tuple[str, str]]:
    return list(found) if isinstance(found, list) else []


def _lines(*parts: object) -> tuple[str, ...]:
    return tuple(str(part) for part in parts if part)


def _list(found: object) -> list[object]:
    return list(found) if isinstance(found, list) else []
