"""Lines that are kept of a horse: written, corrected, taken out."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from upsides.books import clock
from upsides.books.models import Declarable, Horse, OfficialMark, Yard
from upsides.books.services import ledgers
from upsides.books.services.meanwhile import last_change
from upsides.errors import ChangedMeanwhileError, LineRefusedError
from upsides.web.horses.forms import typed_again
from upsides.web.horses.line_forms import SECTIONS, LineForm, NewMoveForm, Section
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.refusals import told


def new(request: VisitedRequest, number: int, section: str) -> HttpResponse:
    """Write a new line."""
    kind, horse = _section(section), get_object_or_404(Horse, pk=number)
    form = (kind.new_form or kind.form)(request.POST or None, initial=_start(kind))
    if form.is_valid():
        try:
            _add(kind, horse, form, request)
        except LineRefusedError as error:
            _refuse(form, error)
        else:
            return redirect("horse_about", number)
    return _page(request, horse, section, form)


def change(request: VisitedRequest, number: int, section: str, line: int) -> HttpResponse:
    """Correct a line."""
    kind = _section(section)
    row: Any = get_object_or_404(kind.model, pk=line, horse=number)
    form = kind.form(request.POST or None, initial=kind.form.initial_of(row) | {"seen": last_change(row)})
    if form.is_valid():
        try:
            ledgers.change_line(kind.model, line, form.cleaned_data["seen"] or 0, form.values(), request.visitor.person)
        except LineRefusedError as error:
            _refuse(form, error)
        except ChangedMeanwhileError as error:
            form = kind.form(typed_again(form, last_change(row)))
            form.add_error(None, told(error))
        else:
            return redirect("horse_about", number)
    return _page(request, row.horse, section, form, row)


@require_POST
def out(request: VisitedRequest, number: int, section: str, line: int) -> HttpResponse:
    """Take a line out that should never have been written."""
    kind = _section(section)
    row = get_object_or_404(kind.model, pk=line, horse=number)
    seen = request.POST.get("seen", "")
    ledgers.take_out_line(
        kind.model, row.pk, int(seen) if seen.isascii() and seen.isdigit() else 0, request.visitor.person
    )
    messages.success(request, _("That line is out; its history stays."))
    return redirect("horse_about", number)


@require_POST
def gelded(request: VisitedRequest, number: int) -> HttpResponse:
    """Write down that a horse's gelding must be declared before its next run."""
    horse = get_object_or_404(Horse, pk=number)
    day = ledgers.gelded_to_declare(horse)
    if day is not None:
        values = {"what": Declarable.What.GELDED.value, "happened_on": day, "declared_on": None}
        ledgers.add_line(Declarable, number, values, request.visitor.person)
    return redirect("horse_about", number)


def _section(word: str) -> Section:
    if word not in SECTIONS:
        raise Http404(_("Nothing of that kind is kept of a horse."))
    return SECTIONS[word]


def _start(kind: Section) -> dict[str, Any]:
    """Return what a new line starts with: today, and the yard's own country."""
    today = clock.today()
    days = {"first_day": today, "effective": today, "happened_on": today}
    country = Yard.objects.values_list("jurisdiction", flat=True).first() or ""
    return days | ({"country": country} if kind.model is OfficialMark else {})


def _add(kind: Section, horse: Horse, form: LineForm, request: VisitedRequest) -> None:
    values, by = form.values(), request.visitor.person
    if isinstance(form, NewMoveForm):
        ledgers.move_horse(horse.pk, values, by, empty_box=form.cleaned_data["empty_box"])
    else:
        ledgers.add_line(kind.model, horse.pk, values, by)


def _refuse(form: LineForm, error: LineRefusedError) -> None:
    form.add_error(error.field if error.field in form.fields else None, told(error))


def _page(request: VisitedRequest, horse: Horse, word: str, form: LineForm, row: Any = None) -> HttpResponse:
    context = {"horse": horse, "section": SECTIONS[word], "word": word, "form": form, "row": row}
    context |= {"seen": last_change(row) if row else 0}
    return render(request, "horses/line.html", context)
