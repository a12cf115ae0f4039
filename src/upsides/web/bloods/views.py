"""Blood samples of a horse."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render

from upsides.books.queries import diary as reads
from upsides.books.queries import moments
from upsides.books.services.diary import record
from upsides.errors import UpsidesError
from upsides.web.bloods.forms import draft_of
from upsides.web.bloods.pages import bloods_page
from upsides.web.diary.forms import device_for
from upsides.web.diary.sentences import done
from upsides.web.shape.pages import horse_at
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.shell.refusals import told


def bloods(request: VisitedRequest, number: int) -> HttpResponse:
    """Show what was measured in a horse's blood over time; enter a sample."""
    if request.method == "POST":
        return _enter(request, number)
    moment = moment_of(request)
    return render(request, "bloods/bloods.html", bloods_page(horse_at(number, moment), moment, request.visitor))


def _enter(request: VisitedRequest, number: int) -> HttpResponse:
    now, who = moments.now(), request.visitor
    horse = horse_at(number, now)
    try:
        entry = record(draft_of(request.POST, horse), who.person, device_for(request))
    except UpsidesError as error:
        page = bloods_page(horse, now, who, request.POST, told(error))
        return render(request, "bloods/bloods.html", page, status=400)
    messages.success(request, done(reads.written([entry], now, who)[0]))
    return redirect("bloods", number)
