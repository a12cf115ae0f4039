"""Recordings: the list, one of them, whose it is, and the trackers that bring them."""

from typing import cast

from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.http import HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from upsides.books.models import Recorded, Tracker
from upsides.books.queries import moments
from upsides.books.sent import Sent
from upsides.books.services.outings import give, put_aside, take_from
from upsides.books.services.recordings import receive
from upsides.books.services.trackers import change_tracker
from upsides.errors import UpsidesError
from upsides.web.recordings.asking import TrackerForm, horse_of
from upsides.web.recordings.one_page import along_of, chart_address, one_page, spec_of
from upsides.web.recordings.pages import may_correct, recordings_page
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.shell.refusals import told


def recordings(request: VisitedRequest) -> HttpResponse:
    """Show what came in, what waits, who wears what."""
    return render(request, "recordings/recordings.html", recordings_page(request, moment_of(request)))


def recordings_add(request: VisitedRequest) -> HttpResponse:
    """Take files in; what is refused before it is read is told beside the form."""
    if request.method != "POST":
        return redirect("recordings")
    given = cast("list[UploadedFile[bytes]]", request.FILES.getlist("files"))
    try:
        receive([Sent(one.name or _("a file"), one) for one in given], request.visitor.person)
    except UpsidesError as error:
        page = recordings_page(request, moments.now(), told(error))
        return render(request, "recordings/recordings.html", page, status=400)
    return redirect("recordings")


def recording(request: VisitedRequest, number: int) -> HttpResponse:
    """Show one recording: where, how fast, the heart, and whose it is."""
    page = one_page(request, number, moment_of(request))
    page |= {"spec": chart_address(request, number), "may_correct": may_correct(request)}
    return render(request, "recordings/recording.html", page)


def recording_chart(request: VisitedRequest, number: int) -> HttpResponse:
    """Give the specification of a recording's chart."""
    return JsonResponse(spec_of(number, moment_of(request), along_of(request)))


@require_POST
def recording_give(request: VisitedRequest, number: int) -> HttpResponse:
    """Say whose a recording is."""
    recorded = get_object_or_404(Recorded, pk=number)
    horse = horse_of(request.POST.get("horse", ""))
    give(recorded, horse, request.visitor.person)
    messages.success(request, _("%(file)s is %(horse)s's.") % {"file": recorded.file, "horse": horse.name})
    return _back(request, number)


@require_POST
def recording_take(request: VisitedRequest, number: int) -> HttpResponse:
    """Say that a recording is not its horse's."""
    recorded = get_object_or_404(Recorded, pk=number)
    take_from(recorded, request.visitor.person)
    messages.success(request, _("%(file)s waits for a horse again.") % {"file": recorded.file})
    return _back(request, number)


@require_POST
def recording_aside(request: VisitedRequest, number: int) -> HttpResponse:
    """Say that a recording is of no horse, or bring it back."""
    recorded, on = get_object_or_404(Recorded, pk=number), request.POST.get("on") == "on"
    put_aside(recorded, request.visitor.person, on=on)
    said = _("%(file)s is set aside.") if on else _("%(file)s waits for a horse again.")
    messages.success(request, said % {"file": recorded.file})
    return _back(request, number)


def tracker(request: VisitedRequest, number: int) -> HttpResponse:
    """Say what a tracker is called, and which horse wears it."""
    row = get_object_or_404(Tracker, pk=number)
    form = TrackerForm(request.POST or None, initial={"name": row.name, "horse": row.horse_id or ""})
    if request.method == "POST" and form.is_valid():
        try:
            change_tracker(row, form.cleaned_data["name"], form.wearer(), request.visitor.person)
            return redirect("recordings")
        except UpsidesError as error:
            form.add_error("name", told(error))
    context = {"form": form, "tracker": row}
    return render(request, "recordings/tracker.html", context, status=400 if form.errors else 200)


def _back(request: VisitedRequest, number: int) -> HttpResponse:
    return redirect("recordings") if request.POST.get("back") == "list" else redirect("recording", number)
