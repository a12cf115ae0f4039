"""The yard's own tables: taken in, undone, given out."""

from io import BytesIO

from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse, StreamingHttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from upsides.books.export.tables import Asked, sheets
from upsides.books.export.writing import csv_zip, write_xlsx
from upsides.books.intake import checking, files
from upsides.books.models import Intake
from upsides.books.queries import intakes as reads
from upsides.books.services import intakes as writes
from upsides.books.services import jobs
from upsides.errors import TableUnreadableError
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.shell.refusals import told
from upsides.web.string.following import back_there
from upsides.web.tables import sentences
from upsides.web.tables.asking import as_fields, chosen_of
from upsides.web.tables.forms import ExportForm, FileForm
from upsides.web.tables.pages import SHORT, asked_to_check, one_page, opened, read_page


def tables(request: VisitedRequest) -> HttpResponse:
    """Show which tables were taken in, and what can be given out."""
    moment = moment_of(request)
    brought = reads.brought(moment)
    context = {"moment": moment, "back": back_there(request), "brought": brought, "form": ExportForm()}
    return render(request, "tables/tables.html", context | {"sentence": sentences.about_tables(brought)})


def new(request: VisitedRequest) -> HttpResponse:
    """Ask for a table; one that cannot be read is told beside the file."""
    form = FileForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data["file"]
        try:
            kept = files.keep(given.read(), given.name or "", settings.UPSIDES_LIBRARY)
            opened(form.cleaned_data["what"], kept.sha256)
            return redirect("table_read", form.cleaned_data["what"], kept.sha256)
        except TableUnreadableError as error:
            form.add_error("file", told(error))
    return render(request, "tables/new.html", {"form": form}, status=400 if form.errors else 200)


def read(request: VisitedRequest, what: str, sha: str) -> HttpResponse:
    """Show how a table would be read, with the columns as proposed or as chosen."""
    one = opened(what, sha)
    return render(request, "tables/read.html", read_page(one, chosen_of(request.GET, one)))


def left_out(_request: VisitedRequest, what: str, sha: str) -> StreamingHttpResponse:
    """Give the rows that cannot be taken, with why in the last column."""
    one = opened(what, sha)
    lines = (part.encode() for part in checking.left_out(one, chosen_of(_request.GET, one)))
    answer = StreamingHttpResponse(lines, content_type="text/csv; charset=utf-8")
    answer.headers["Content-Disposition"] = 'attachment; filename="left-out.csv"'
    return answer


@require_POST
def check(request: VisitedRequest, what: str, sha: str) -> HttpResponse:
    """Have all rows of a long table looked at."""
    one = opened(what, sha)
    chosen = chosen_of(request.POST, one)
    checking.reading_of(one, chosen)
    jobs.ask(writes.JOB, asked_to_check(one, chosen), by=request.visitor.person)
    return redirect_to_read(what, sha, as_fields(chosen, one))


@require_POST
def take(request: VisitedRequest, what: str, sha: str) -> HttpResponse:
    """Take in the rows that are fine: at once, or as a job where there are many."""
    one = opened(what, sha)
    chosen, long = chosen_of(request.POST, one), one.kept.rows > SHORT
    counts = None if long else checking.check(one, chosen)
    intake = writes.begin(one, chosen, request.visitor.person, counts)
    if long:
        jobs.ask(writes.JOB, {"do": "take", "intake": intake.pk}, by=request.visitor.person)
    else:
        messages.success(request, sentences.taken_words(writes.take(intake, settings.UPSIDES_LIBRARY)))
    return redirect("table", intake.pk)


def one(request: VisitedRequest, number: int) -> HttpResponse:
    """Show one import: what it brought, and how it can be undone."""
    return render(request, "tables/one.html", one_page(request, number, moment_of(request)))


@require_POST
def undo(request: VisitedRequest, number: int) -> HttpResponse:
    """Undo an import: at once, or as a job where it brought much."""
    intake, person = get_object_or_404(Intake, pk=number), request.visitor.person
    writes.may_undo(intake, person)
    if intake.rows.count() > SHORT:
        jobs.ask(writes.JOB, {"do": "undo", "intake": intake.pk, "by": person.pk}, by=person)
    else:
        messages.success(request, sentences.undone_words(writes.undo(intake, person)))
    return redirect("table", number)


@require_POST
def go_on(request: VisitedRequest, number: int) -> HttpResponse:
    """Go on with an import that was stopped; what it brought so far is not doubled."""
    intake = get_object_or_404(Intake, pk=number)
    writes.may_undo(intake, request.visitor.person)
    jobs.ask(writes.JOB, {"do": "take", "intake": intake.pk}, by=request.visitor.person)
    messages.success(request, _("It goes on."))
    return redirect("table", number)


def export(request: VisitedRequest) -> HttpResponse:
    """Give out tables as a workbook or as CSV files in a ZIP."""
    form = ExportForm(request.GET)
    if not form.is_valid():
        return render(request, "tables/tables.html", {"form": form, "sentence": sentences.about_tables([])}, status=400)
    given, out = form.cleaned_data, BytesIO()
    found = sheets(given["what"], Asked(request.visitor, given["first"], given["last"]))
    book = given["form"] == "xlsx"
    write_xlsx(found, out) if book else csv_zip(found, out)
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet" if book else "application/zip"
    answer = HttpResponse(out.getvalue(), content_type=kind)
    answer.headers["Content-Disposition"] = f'attachment; filename="yard.{"xlsx" if book else "zip"}"'
    return answer


def redirect_to_read(what: str, sha: str, fields: list[tuple[str, str]]) -> HttpResponse:
    """Return to a table as its columns are chosen."""
    from urllib.parse import urlencode

    from django.urls import reverse

    return redirect(f"{reverse('table_read', args=[what, sha])}?{urlencode(fields)}")
