"""The rounds of a barn: what was seen of each horse, and entering it."""

from django.http import HttpResponse
from django.shortcuts import redirect, render

from upsides.books.services.diary import record
from upsides.errors import UpsidesError
from upsides.web.checks.pages import round_page
from upsides.web.diary.forms import device_for, draft_of
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.shell.refusals import told


def checks(request: VisitedRequest) -> HttpResponse:
    """Show one barn's round; enter something of a horse."""
    wrong = ""
    if request.method == "POST":
        try:
            entry = record(draft_of(request.POST), request.visitor.person, device_for(request))
        except UpsidesError as error:
            wrong = told(error)
        else:
            return redirect(f"{request.get_full_path()}#horse-{entry.horse_id}")
    context = round_page(request, moment_of(request), wrong)
    return render(request, "checks/checks.html", context, status=400 if wrong else 200)
