"""Whom to look at first, on the page and on paper."""

from typing import Any

from django.conf import settings
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from upsides import paper
from upsides.books.models import Inside
from upsides.books.queries.condition_first import LookAt, look_at
from upsides.books.queries.visitors import opened
from upsides.books.queries.yard_rules import yard_rules
from upsides.books.services.sights import saw
from upsides.web.condition.look_page import about_looks, by_barns, form_of_yard, watched_words
from upsides.web.condition.past_days import past_day
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.shell.printing import answered, masthead, size_of


def whom_to_look_at(request: VisitedRequest) -> HttpResponse:
    """Show whom to look at first, with reasons, and how the string has run."""
    moment, shown = moment_of(request), _shown(request)
    page: dict[str, Any] = {"moment": moment, "shown": shown}
    if shown is not None:
        page |= {"sentence": about_looks(shown), "watched": watched_words(shown), "form": form_of_yard(moment)}
        page["past"] = past_day(request, moment)
    return render(request, "condition/look_at.html", page)


def look_at_sheet(request: VisitedRequest) -> HttpResponse:
    """Print whom to look at first, barn by barn."""
    moment, shown = moment_of(request), _shown(request)
    if shown is None:
        return redirect("look_at")
    sheet = paper.LookAtSheet(
        masthead=masthead(moment, _("Look at these first"), date_format(moment.day, "l j F Y"), watched_words(shown)),
        sentence=about_looks(shown),
        titles=paper.LookAtTitles(box=_("Box"), horse=_("Horse"), why=_("Why"), seen=_("What was seen")),
        barns=by_barns(shown),
        groups=(*shown.groups, *shown.swapped, _("It says whom to look at, not what it is; in doubt ask the vet.")),
        nothing=_("Nobody."),
    )
    return answered(paper.look_at_pdf(sheet, size_of(request.GET)), f"look-at-{moment.day}")


def _shown(request: VisitedRequest) -> LookAt | None:
    """Return whom to look at, and write down that it was shown; None where that is not open to the visitor."""
    if not opened(request.visitor, Inside.FIGURES).everything:
        return None
    saw(request.visitor, Inside.FIGURES, request.path)
    return look_at(moment_of(request), overrides=yard_rules(settings.UPSIDES_LIBRARY).overrides)
