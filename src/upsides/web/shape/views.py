"""The shape of a horse: what people see in it, and scoring it."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render

from upsides.books.queries import diary as reads
from upsides.books.queries import moments
from upsides.books.services.diary import record
from upsides.errors import UpsidesError
from upsides.web.diary.forms import device_for
from upsides.web.diary.sentences import done
from upsides.web.shape.forms import draft_of
from upsides.web.shape.pages import horse_at, score_page, shape_page
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.shell.refusals import told


def shape(request: VisitedRequest, number: int) -> HttpResponse:
    """Show what people see in a horse, to somebody who has scored it; ask others to score it first."""
    moment, who = moment_of(request), request.visitor.person
    horse = horse_at(number, moment)
    page = shape_page(horse, who, moment)
    if page is None:
        return render(request, "shape/score.html", score_page(horse, who, moment))
    return render(request, "shape/shape.html", page)


def shape_score(request: VisitedRequest, number: int) -> HttpResponse:
    """Ask for scores; enter them."""
    now = moments.now()
    horse, who, wrong = horse_at(number, now), request.visitor.person, ""
    if request.method == "POST":
        try:
            entry = record(draft_of(request.POST, horse, who), who, device_for(request))
        except UpsidesError as error:
            wrong = told(error)
        else:
            messages.success(request, done(reads.written([entry], now, request.visitor)[0]))
            return redirect("shape", number)
    page = score_page(horse, who, now, request.POST if wrong else None, wrong)
    return render(request, "shape/score.html", page, status=400 if wrong else 200)
