"""The people of the yard: the list, a person, entering and changing one."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from upsides.books.models import Person, Role
from upsides.books.queries import moments
from upsides.books.queries import people as reads
from upsides.books.queries.visitors import Visitor
from upsides.books.services.people import add_person, change_person
from upsides.errors import PersonFieldError
from upsides.web.people import sentences
from upsides.web.people.forms import PeopleFilter, PersonForm, PinForm, riding_as_typed
from upsides.web.people.one import changeable, show
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.shell.refusals import told


def people(request: VisitedRequest) -> HttpResponse:
    """List the people."""
    moment = moment_of(request)
    asked = PeopleFilter(request.GET, barns=reads.barns(moment))
    asked.is_valid()
    chosen = {name: value for name, value in asked.cleaned_data.items() if value}
    listed = reads.people(moment, **chosen)
    rows = [(one, sentences.roles_in_words(one.roles), sentences.means_in_words(one)) for one in listed]
    context = {"moment": moment, "asked": asked, "cut": bool(chosen), "rows": rows}
    context |= {"sentence": sentences.about_people(listed, cut=bool(chosen))}
    context |= {"may_change": bool(request.visitor.roles & reads.MAY_CHANGE)}
    return render(request, "people/people.html", context)


def person(request: VisitedRequest, number: int) -> HttpResponse:
    """Show one person."""
    return show(request, number, moment_of(request), PinForm())


def new(request: VisitedRequest) -> HttpResponse:
    """Enter a person."""
    form = PersonForm(request.POST or None, may_give=_may_give(request.visitor))
    if form.is_valid():
        try:
            entered = add_person(by=request.visitor.person, **form.entered(moments.now().day))
        except PersonFieldError as error:
            form.add_error(error.field, told(error))
        else:
            messages.success(request, _("%(name)s is entered.") % {"name": entered.name})
            return redirect("person", entered.pk)
    return _form_page(request, form, None)


def change(request: VisitedRequest, number: int) -> HttpResponse:
    """Change a person."""
    shown = changeable(request.visitor, number)
    form = PersonForm(request.POST or None, initial=_initial(shown), may_give=_may_give(request.visitor))
    if form.is_valid():
        try:
            given = form.entered(moments.now().day)
            change_person(Person.objects.get(pk=number), request.visitor.person, **given)
        except PersonFieldError as error:
            form.add_error(error.field, told(error))
        else:
            return redirect("person", number)
    return _form_page(request, form, shown)


def _may_give(who: Visitor) -> frozenset[Role]:
    return frozenset(Role) if Role.TRAINER in who.roles else frozenset(Role) - {Role.TRAINER}


def _initial(shown: reads.Shown) -> dict[str, Any]:
    one = shown.listed
    values = {"name": one.name, "roles": [role.value for role in one.roles], "barn": one.barn}
    values |= {"login": shown.login, "email": shown.email, "phone": shown.phone}
    return values | riding_as_typed(shown.riding)


def _form_page(request: VisitedRequest, form: PersonForm, shown: reads.Shown | None) -> HttpResponse:
    context = {"form": form, "shown": shown, "barns": reads.barns(moments.now())}
    return render(request, "people/person_form.html", context)
