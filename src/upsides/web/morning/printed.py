"""Sheets of a morning, printed."""

from collections.abc import Mapping
from datetime import timedelta
from typing import Any

from django.conf import settings
from django.http import HttpResponse
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from upsides import paper
from upsides.books import clock
from upsides.books import morning_words as say
from upsides.books.models import Horse, Inside
from upsides.books.queries import moments
from upsides.books.queries.boxes import Stood, boxes, by_barn
from upsides.books.queries.days import last_of_each
from upsides.books.queries.looking import Look
from upsides.books.queries.lots import lots
from upsides.books.queries.moments import Moment
from upsides.books.queries.morning import away_on, morning
from upsides.books.queries.visitors import opened
from upsides.web.morning.pages import Group, before_of, groups, names_of
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import asked_day, moment_of
from upsides.web.shell.printing import answered, masthead, size_of

LAST_MEASURED = 30
"""Days within which a last measurement is printed."""


def morning_sheet(request: VisitedRequest) -> HttpResponse:
    """Print the morning."""
    moment = moment_of(request)
    shown = morning(settings.UPSIDES_LIBRARY, moment, opened(request.visitor, Inside.PLANS))
    first, out = [look for look in shown.looks if look.eyes_on], shown.cannot_run
    sheet = paper.MorningSheet(
        masthead=masthead(moment, _("Morning"), date_format(moment.day, "l j F Y")),
        sentence=say.about_morning(shown),
        looks_title=_("Look at these first"),
        looks=tuple(_look(look, shown.places) for look in first),
        nobody=_("Nothing that was entered asks for it."),
        titles=_titles(),
        lots=tuple(_lot(group) for group in groups(shown.lots)),
        no_lots=_("Nothing was ordered."),
        lists=(
            _listing(_("Runners"), [(one.horse.name, say.runner_words(one, out)) for one in shown.runners]),
            _listing(_("To be said"), [(one.horse.name, say.deadline_words(one, out)) for one in shown.deadlines]),
            _listing(_("Due"), [(one.name, say.due_words(one, moment.day)) for one in shown.due]),
        ),
    )
    return answered(paper.morning_pdf(sheet, size_of(request.GET)), f"morning-{moment.day}")


def evening_sheet(request: VisitedRequest) -> HttpResponse:
    """Print the lots of a day: tomorrow's list, or those of another day for the wall."""
    moment = moment_of(request)
    day = asked_day(request.GET.get("day", ""), moment, moment.day + timedelta(days=1))
    found, before = lots(moment, day, away_on(moment, day)), before_of(moment, day)
    shown = groups(found, before, names_of(moment, before))
    string = moments.in_training(Moment(day, moment.at)).count()
    tomorrow = day == moment.day + timedelta(days=1)
    title = _("Tomorrow's list") if tomorrow else _("Lots")
    sheet = paper.EveningList(
        masthead=masthead(moment, title, date_format(day, "l j F Y")),
        sentence=say.about_list(day, sum(len(lot.rides) for lot in found), string),
        key=_("What differs from the day before is marked and says what it was."),
        titles=_titles(),
        lots=tuple(_lot(group) for group in shown),
        no_lots=_("Nothing is ordered yet."),
    )
    return answered(paper.evening_pdf(sheet, size_of(request.GET)), f"tomorrow-{day}" if tomorrow else f"lots-{day}")


def checks_sheet(request: VisitedRequest) -> HttpResponse:
    """Print the checks of all barns, to be filled in by hand."""
    moment = moment_of(request)
    sheet = paper.CheckSheet(
        masthead=masthead(moment, _("Barn checks"), date_format(moment.day, "l j F Y")),
        sentence=_("Tick that you looked; write a number only where you measured."),
        titles=paper.CheckTitles(
            box=_("Box"),
            horse=_("Horse"),
            looked_at=_("Looked at"),
            temperature=_("Temperature"),
            feed_left=_("Feed left"),
            droppings=_("Droppings"),
            legs=_("Legs"),
            remarks=_("Remarks"),
        ),
        barns=_barns(moment),
        signed=(_("Walked by"), _("At")),
        nothing=_("There is no horse in training."),
    )
    return answered(paper.checks_pdf(sheet, size_of(request.GET)), f"checks-{moment.day}")


def _look(look: Look, places: Mapping[int, Stood]) -> paper.Look:
    stood = places.get(look.horse.pk)
    return paper.Look(look.horse.name, stood.called if stood else "", tuple(one.words for one in look.reasons))


def _lot(group: Group) -> paper.Lot:
    return paper.Lot(group.title, tuple(_ride(line) for line in group.lines))


def _ride(line: Any) -> paper.Ride:
    ride = line.ride
    notes = [line.against, line.advice, ride.order.text or "", *(one.text for one in ride.cautions)]
    return paper.Ride(
        horse=ride.horse.name,
        box=ride.stood.called if ride.stood else "",
        rider=ride.rider,
        order=line.work,
        gallop=ride.gallop,
        company=line.company,
        cautions=tuple(note for note in notes if note),
        changed=line.changed,
    )


def _listing(title: str, lines: list[tuple[str, str]]) -> paper.Listing:
    return paper.Listing(title, tuple(paper.Line(when, what) for when, what in lines), _("Nothing."))


def _titles() -> paper.RideTitles:
    return paper.RideTitles(
        horse=_("Horse"),
        box=_("Box"),
        rider=_("Rider"),
        order=_("Exercise"),
        gallop=_("Gallop"),
        company=_("Upsides"),
        cautions=_("Mind"),
        notes=_("Notes"),
    )


def _barns(moment: Moment) -> tuple[paper.BarnChecks, ...]:
    string, places = list(moments.in_training(moment)), boxes(moment)
    numbers = [horse.pk for horse in string]
    warm = last_of_each(moment, "temperature", moment.day, LAST_MEASURED, numbers)
    masses = last_of_each(moment, "mass", moment.day, LAST_MEASURED, numbers)

    def row(horse: Horse) -> paper.CheckRow:
        stood = places.get(horse.pk)
        measured = (_measured(warm.get(horse.pk), "celsius", "°C"), _measured(masses.get(horse.pk), "kg", "kg"))
        return paper.CheckRow(horse.name, stood.name if stood else "", *measured)

    return tuple(
        paper.BarnChecks(barn or _("Without a box"), tuple(map(row, horses)))
        for barn, horses in by_barn(string, places).items()
    )


def _measured(entry: Any, value: str, unit: str) -> str:
    if entry is None:
        return ""
    when = entry.happened_at.astimezone(clock.place().zone)
    return f"{entry.values[value]:.1f} {unit}, {date_format(when, 'j M')}"
