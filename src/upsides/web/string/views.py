"""The string, a horse, and the views of the list that people keep."""

from typing import Any

from django.conf import settings
from django.http import Http404, HttpResponse, JsonResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from upsides.books.models import Inside
from upsides.books.queries import horse as horses
from upsides.books.queries import string as strings
from upsides.books.queries.moments import Moment
from upsides.books.queries.string import Known
from upsides.books.services.saved_views import forget_view, save_view
from upsides.books.services.sights import saw
from upsides.web.shell.access import may_open
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.string.asking import PAGE, asked_of, number_of, status_of
from upsides.web.string.following import address_of, answered, back_there, in_place
from upsides.web.string.horse_page import horse_page, trip_of, ways
from upsides.web.string.kept import kept_views
from upsides.web.string.listing import listing
from upsides.web.string.pictures import curve_spec


def string(request: VisitedRequest) -> HttpResponse:
    """Show the string, best level first or as it is asked for; its list alone where that is replaced in place."""
    moment, who = moment_of(request), request.visitor
    found = strings.string(settings.UPSIDES_LIBRARY, who, moment, status_of(request.GET))
    page = _around(request, moment, found.known)
    if not found.listed and not strings.any_horse(moment):
        return render(request, "string/empty.html", page)
    if found.figures:
        saw(who, Inside.FIGURES, request.path)
    page |= listing(found, request.GET, page["back"])
    page |= kept_views(who.person, page["asked"], request.GET.get("as_of", ""))
    part = in_place(request)
    return answered(request, render(request, "string/part.html" if part else "string/string.html", page), page["asked"])


def horse(request: VisitedRequest, number: int) -> HttpResponse:
    """Show one horse: what it is worth, its curve, its runs."""
    moment, who = moment_of(request), request.visitor
    shown = horses.horse(settings.UPSIDES_LIBRARY, who, moment, number)
    if shown is None:
        raise Http404(_("There is no horse %(number)s in this string.") % {"number": number})
    trip = trip_of(settings.UPSIDES_LIBRARY, moment, shown)
    if shown.figures or trip:
        saw(who, Inside.FIGURES, request.path, number)
    page = _around(request, moment, shown.known) | horse_page(shown, trip) | {"ways": ways(shown, who)}
    return render(request, "string/horse.html", page)


def horse_curve(request: VisitedRequest, number: int) -> HttpResponse:
    """Give the specification of a horse's chart, where its figures are open."""
    who = request.visitor
    shown = horses.horse(settings.UPSIDES_LIBRARY, who, moment_of(request), number)
    spec = curve_spec(shown) if shown else None
    if spec is None:
        raise Http404(_("There is no curve of a horse %(number)s here.") % {"number": number})
    saw(who, Inside.FIGURES, request.path, number)
    return JsonResponse(spec)


@require_POST
def keep_view(request: VisitedRequest) -> HttpResponse:
    """Keep the list as it stands under a name, and open it."""
    asked = asked_of(QueryDict(request.POST.get("query", "")), figures=True)
    name, number = request.POST.get("name", ""), number_of(request.POST.get("view", ""))
    kept = save_view(request.visitor.person, PAGE, name, asked.address(), number)
    return redirect(address_of(kept.query, kept.pk))


@require_POST
def drop_view(request: VisitedRequest, number: int) -> HttpResponse:
    """Forget a view; the list stays as it is."""
    forget_view(request.visitor.person, number)
    return redirect(address_of(asked_of(QueryDict(request.POST.get("query", "")), figures=True).address()))


_MAY = {"enter": "horse_new", "walk": "boxes", "change": "horse_about", "move": "horse_box"}
"""Pages about horses that some may open, by what is done on them."""


def _around(request: VisitedRequest, moment: Moment, known: Known) -> dict[str, Any]:
    """Return what pages of the string have in common: when, what is known, where one can go from here."""
    roles = request.visitor.roles
    may = {f"may_{what}": may_open(name, roles) for what, name in _MAY.items()}
    common = {"moment": moment, "library": settings.UPSIDES_LIBRARY, "known": known, "back": back_there(request)}
    return common | may
