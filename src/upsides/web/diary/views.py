"""The diary: entering, correcting, and deciding between corrections."""

from typing import Any
from uuid import uuid4

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from upsides.books import clock
from upsides.books.models import Entry
from upsides.books.queries import diary as reads
from upsides.books.queries import moments
from upsides.books.services.diary import MENDERS, record, settle
from upsides.errors import UpsidesError
from upsides.web.diary.forms import device_for, draft_of, mended, row_number
from upsides.web.diary.pages import day_page, entry_page, second_dose
from upsides.web.diary.sentences import about_conflicts, done
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.shell.refusals import told


def diary(request: VisitedRequest) -> HttpResponse:
    """Show what was entered today; enter something."""
    wrong = twice = ""
    if request.method == "POST" and not (twice := second_dose(request.POST, moments.now())):
        try:
            entry = record(draft_of(request.POST), request.visitor.person, device_for(request))
        except UpsidesError as error:
            wrong = told(error)
        else:
            messages.success(request, done(reads.written([entry], moments.now(), request.visitor)[0]))
            return redirect(f"{reverse('diary')}?horse={entry.horse_id}")
    context = day_page(request, moment_of(request), wrong, twice)
    return render(request, "diary/diary.html", context, status=400 if wrong else 200)


def diary_entry(request: VisitedRequest, number: int) -> HttpResponse:
    """Show one entry with all that corrected or withdrew it."""
    context = entry_page(request.visitor, number, moment_of(request))
    if context is None:
        raise Http404(_("There is no such entry in the diary."))
    return render(request, "diary/entry.html", context)


@require_POST
def diary_mend(request: VisitedRequest, number: int) -> HttpResponse:
    """Correct an entry, or withdraw it."""
    entry = get_object_or_404(Entry, pk=number)
    new = record(mended(request.POST, entry), request.visitor.person, device_for(request))
    messages.success(request, done(reads.written([new], moments.now(), request.visitor)[0]))
    return redirect("diary_entry", number)


def diary_conflicts(request: VisitedRequest) -> HttpResponse:
    """Show the entries that were corrected in more than one way."""
    moment = moment_of(request)
    conflicts = reads.conflicts(moment, request.visitor)
    context: dict[str, Any] = {"moment": moment, "conflicts": conflicts, "sentence": about_conflicts(len(conflicts))}
    return render(request, "diary/conflicts.html", context | {"decides": bool(request.visitor.roles & MENDERS)})


@require_POST
@transaction.atomic
def diary_keep(request: VisitedRequest, number: int) -> HttpResponse:
    """Keep one of the corrections of an entry; those that it stood beside on the page are withdrawn."""
    keep = get_object_or_404(Entry, pk=number)
    others = [one for drop in request.POST.getlist("drop") if (one := row_number(drop))]
    who, device = request.visitor.person, device_for(request)
    for drop in Entry.objects.filter(pk__in=others):
        settle(keep, drop, who, device, client_id=uuid4(), made_at=clock.now())
    messages.success(request, _("That is what stands now; the other stays to be read."))
    return redirect("diary_conflicts")
