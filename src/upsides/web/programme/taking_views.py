"""Taking in a programme of races to come: a file dropped, looked at, put right, taken, taken back."""

from django import forms
from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from upsides.books.intake import files
from upsides.books.services.programmes import take_programme, take_programme_back
from upsides.errors import TableUnreadableError
from upsides.errors.wording import gettext
from upsides.results.programme import FOLDER
from upsides.results.shape import read_shape
from upsides.web.programme.taking_page import KEPT_SHAPE, last_taken, shape_of, shape_place, taking_page
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.refusals import told

LONGEST_SHAPE = 40_000


class ProgrammeForm(forms.Form):
    """A programme, as the authority publishes it."""

    file = forms.FileField(
        label=_lazy("The file"),
        help_text=_lazy("CSV, TSV or XLSX, a row a race, with headings near the top."),
        widget=forms.FileInput(attrs={"accept": ".csv,.tsv,.txt,.xlsx"}),
        error_messages={"required": _lazy("Choose the file."), "empty": _lazy("That file is empty.")},
    )


def new(request: VisitedRequest) -> HttpResponse:
    """Ask for a programme; one that cannot be read is told beside the file."""
    form = ProgrammeForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data["file"]
        try:
            kept = files.keep(given.read(), given.name or "", settings.UPSIDES_LIBRARY)
            shape_place(settings.UPSIDES_LIBRARY, kept.sha256).unlink(missing_ok=True)  # dropped again, begun again
            return redirect("programme_read", kept.sha256)
        except TableUnreadableError as error:
            form.add_error("file", told(error))
    return render(request, "programme/taking.html", {"form": form} | last_taken(), status=400 if form.errors else 200)


def read(request: VisitedRequest, sha: str) -> HttpResponse:
    """Show what a programme would bring; sent a shape, read it by that."""
    folder = settings.UPSIDES_LIBRARY
    if request.method == "POST":
        files.kept(sha, folder)
        shape_place(folder, sha).write_text(request.POST.get("shape", "").replace("\0", "")[:LONGEST_SHAPE], "utf-8")
        return redirect("programme_read", sha)
    return render(request, "programme/taking_read.html", taking_page(folder, sha))


@require_POST
def take(request: VisitedRequest, sha: str) -> HttpResponse:
    """Take a programme in as it was shown."""
    folder = settings.UPSIDES_LIBRARY
    _kept, place = files.kept(sha, folder)
    text = shape_of(folder, sha)
    taken = take_programme(folder, place, read_shape(text, gettext("shape")), request.visitor.person)
    if taken.kept:
        (folder / FOLDER / KEPT_SHAPE).write_text(text, "utf-8")
    words = ngettext("One race was taken in.", "%(count)s races were taken in.", len(taken.heard))
    messages.success(request, words % {"count": len(taken.heard)})
    return redirect("programme")


@require_POST
def back(request: VisitedRequest, number: int) -> HttpResponse:
    """Take the last programme back."""
    followed = take_programme_back(settings.UPSIDES_LIBRARY, number, request.visitor.person)
    words = ngettext(
        "The programme is taken back; one engagement follows what stood before.",
        "The programme is taken back; %(count)s engagements follow what stood before.",
        followed,
    )
    messages.success(request, words % {"count": followed})
    return redirect("programme_new")
