"""The stopwatch: clocking, and what was clocked today."""

from django.http import HttpResponse, JsonResponse
from django.shortcuts import render

from upsides.books.queries import moments
from upsides.web.clock import pages
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of


def clock(request: VisitedRequest) -> HttpResponse:
    """Show the stopwatch, and what was clocked today."""
    return render(request, "clock/clock.html", pages.clock_page(request, moment_of(request)))


def clock_works(_request: VisitedRequest) -> JsonResponse:
    """Answer with what is ordered for today and tomorrow, and what riders weigh."""
    return JsonResponse(pages.works_kept(moments.now()), headers={"Cache-Control": "no-store"})
