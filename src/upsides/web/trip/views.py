"""A horse's trip, and the gene tests that speak of it."""

from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.cache import patch_vary_headers
from django.utils.translation import gettext as _

from upsides.books.models import Inside
from upsides.books.queries import diary as reads
from upsides.books.queries import moments
from upsides.books.services.diary import record
from upsides.books.services.sights import saw
from upsides.errors import UpsidesError
from upsides.web.diary.forms import device_for
from upsides.web.diary.sentences import done
from upsides.web.shape.pages import horse_at
from upsides.web.shell.access import may_open
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.shell.refusals import told
from upsides.web.string.following import back_there, in_place
from upsides.web.trip.asking import asked_of
from upsides.web.trip.forms import GeneTestForm
from upsides.web.trip.gene_page import gene_page


def horse_trip(request: VisitedRequest, number: int) -> HttpResponse:
    """Show one horse's trip; the answer alone where a piece of evidence is left out in place."""
    from upsides.web.trip.trip_page import told_of  # it loads compiled code, which pages of other areas need not

    moment, asked, who = moment_of(request), asked_of(request.GET), request.visitor
    page = told_of(settings.UPSIDES_LIBRARY, who, moment, number, asked)
    if page is None:
        raise Http404(_("There is no horse %(number)s in this string.") % {"number": number})
    address = request.path + asked.address(page["available"], request.GET.get("as_of", ""))
    if page["sentence"]:
        saw(who, Inside.FIGURES, request.path, number)
    if asked.chosen and not in_place(request):
        return redirect(address)
    page |= {"moment": moment, "back": back_there(request), "library": settings.UPSIDES_LIBRARY}
    return _in_part(request, page, address)


def _in_part(request: VisitedRequest, page: dict[str, Any], address: str) -> HttpResponse:
    """Return the page, or what of it changes in place, with the address under which the same is found again."""
    page["tests_open"] = may_open("gene_tests", request.visitor.roles)
    part = in_place(request) and bool(page["sentence"])
    response = render(request, "trip/part.html" if part else "trip/trip.html", page | {"part": part})
    patch_vary_headers(response, ["HX-Request"])
    if part:
        response.headers["HX-Replace-Url"] = address
    return response


def gene_tests(request: VisitedRequest, number: int) -> HttpResponse:
    """Show the gene tests of a horse and its parents, and take in another."""
    moment, who, wrong = moment_of(request), request.visitor.person, ""
    horse = horse_at(number, moment)
    form = GeneTestForm(horse, request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            entry = record(form.draft(), who, device_for(request))
        except UpsidesError as error:
            wrong = told(error)
        else:
            messages.success(request, done(reads.written([entry], moments.now(), request.visitor)[0]))
            return redirect("gene_tests", number)
    page = gene_page(horse, moment) | {"form": form, "wrong": wrong, "moment": moment, "back": back_there(request)}
    return render(request, "trip/gene.html", page, status=400 if wrong or form.errors else 200)
