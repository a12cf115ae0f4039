"""A horse entered and changed, and all that is kept of it on one page."""

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from upsides.books import clock
from upsides.books.models import Horse, Person
from upsides.books.queries import names
from upsides.books.queries.horse import horse as read_horse
from upsides.books.queries.moments import now
from upsides.books.services.horse_entry import change_horse, enter_horse, why_left
from upsides.books.services.ledgers import gelded_to_declare
from upsides.books.services.meanwhile import last_change
from upsides.errors import ChangedMeanwhileError, HorseRefusedError, HorseTwiceError, LineRefusedError
from upsides.web.horses import sentences
from upsides.web.horses.forms import HorseForm, initial_of, typed_again
from upsides.web.horses.kept_page import kept_page
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.shell.refusals import as_sentence, told


def new(request: VisitedRequest) -> HttpResponse:
    """Enter a horse."""
    twin = "anyway" in request.POST
    form = HorseForm(request.POST or None, people=_people(None), twin=twin, initial={"joined": clock.today()})
    if form.is_valid():
        try:
            given = form.cleaned_data
            entered = enter_horse(form.facts(), request.visitor.person, settings.UPSIDES_LIBRARY,
                                  anyway=given.get("anyway", False), why=given["why"])  # fmt: skip
        except (HorseRefusedError, HorseTwiceError, LineRefusedError) as error:
            form = _refused(form, error)
        else:
            messages.success(request, _("%(name)s is entered. Where does it stand?") % {"name": entered.name})
            return redirect("horse_box", entered.pk)
    return _form_page(request, form, None)


def change(request: VisitedRequest, number: int) -> HttpResponse:
    """Change a horse."""
    row = get_object_or_404(Horse, pk=number)
    start = initial_of(row, why_left(row), last_change(row))
    form = HorseForm(request.POST or None, people=_people(row), twin="anyway" in request.POST, initial=start)
    if form.is_valid():
        try:
            _keep(row, form, request.visitor.person)
        except (HorseRefusedError, HorseTwiceError, LineRefusedError) as error:
            form = _refused(form, error)
        except ChangedMeanwhileError as error:
            form = _again(form, row, error)
        else:
            return redirect("horse_about", number)
    return _form_page(request, form, row)


def about(request: VisitedRequest, number: int) -> HttpResponse:
    """Show all that is kept of one horse, each line with the way to correct it."""
    moment = moment_of(request)
    shown = read_horse(settings.UPSIDES_LIBRARY, request.visitor, moment, number)
    if shown is None or shown.book is None:
        raise Http404(_("There is no horse %(number)s in this string.") % {"number": number})
    page = kept_page(shown, shown.book, moment)
    page["gelded"] = gelded_to_declare(shown.horse) if moment.at is None else None
    return render(request, "horses/about.html", page)


def _keep(row: Horse, form: HorseForm, by: Person) -> None:
    given = form.cleaned_data
    anyway, seen = given.get("anyway", False), given["seen"] or 0
    change_horse(row.pk, seen, form.facts(), by, settings.UPSIDES_LIBRARY, anyway=anyway, why=given["why"])


def _refused(form: HorseForm, error: HorseRefusedError | HorseTwiceError | LineRefusedError) -> HorseForm:
    """Return the form with what is wrong beside the field; one that looks like another can be kept all the same."""
    if isinstance(error, HorseTwiceError):
        form = HorseForm(form.data, people=form.fields["carer"].choices[1:], twin=True)  # type: ignore[attr-defined]
        form.is_valid()
    words = as_sentence(error.remedy if isinstance(error, HorseRefusedError) else str(error))
    field = error.field.replace(" ", "_")
    form.add_error(field if field in form.fields else None, words)
    return form


def _again(form: HorseForm, row: Horse, error: ChangedMeanwhileError) -> HorseForm:
    """Return the form as typed, resting on what stands by now: kept again, it holds."""
    row.refresh_from_db()
    fresh = HorseForm(typed_again(form, last_change(row)), people=_people(row))
    fresh.is_valid()
    fresh.add_error(None, told(error))
    for field in error.fields:
        name = field.replace(" ", "_")
        if name in fresh.fields:
            fresh.add_error(name, _("It stands as: %(value)s.") % {"value": sentences.value_words(row, name)})
    return fresh


def _people(row: Horse | None) -> list[tuple[int, str]]:
    """Return who can look after a horse, whoever does now among them."""
    people = [(number, name) for number, name, _roles in names.people(now())]
    if row and row.carer and row.carer_id not in dict(people):
        people.append((row.carer.pk, row.carer.name))
    return people


def _form_page(request: VisitedRequest, form: HorseForm, row: Horse | None) -> HttpResponse:
    return render(request, "horses/horse_form.html", {"form": form, "horse": row})
