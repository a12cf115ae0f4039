"""One person as several pages need it: shown, or about to be changed."""

from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _

from upsides.books.queries import moments
from upsides.books.queries import people as reads
from upsides.books.queries.devices import devices_of
from upsides.books.queries.moments import Moment
from upsides.books.queries.person_changes import PRIVATE, changes
from upsides.books.queries.releases import standing
from upsides.books.queries.staff import WORKING
from upsides.books.queries.visitors import BARN_ROLES, STAFF_INSIDE, Visitor
from upsides.errors import PersonErasedError, TrainersOnlyError
from upsides.web.people import sentences
from upsides.web.people.forms import PinForm
from upsides.web.shell.middleware import VisitedRequest


def show(request: VisitedRequest, number: int, moment: Moment, pin_form: PinForm) -> HttpResponse:
    """Return one person's page."""
    shown = reads.person(number, moment)
    if shown is None:
        raise Http404(_("There is no person with this number."))
    context = {"moment": moment, "shown": shown, "one": shown.listed, "pin_form": pin_form}
    return render(request, "people/person.html", context | _around(request.visitor, shown, moment))


def changeable(who: Visitor, number: int) -> reads.Shown:
    """Return the person whom `who` is about to change.

    Raises:
        Http404: there is none.
        PersonErasedError: the person was erased.
        TrainersOnlyError: it is a trainer, and `who` is none.
    """
    shown = reads.person(number, moments.now())
    if shown is None:
        raise Http404(_("There is no person with this number."))
    if shown.erased_at is not None:
        raise PersonErasedError(number)
    if not reads.may_change(who, shown.listed.roles):
        raise TrainersOnlyError
    return shown


def _around(who: Visitor, shown: reads.Shown, moment: Moment) -> dict[str, Any]:
    """Return what a person's page tells besides the person."""
    one = shown.listed
    contact = reads.sees_contact(who, one.roles)
    changed = [
        (one_change, sentences.change_in_words(one_change, private=not contact and one_change.what in PRIVATE))
        for one_change in changes(one.number, moment)
    ]
    return {
        "sentence": sentences.about_person(shown),
        "roles": sentences.roles_in_words(one.roles),
        "sign_in": sentences.SIGN_IN[one.sign_in],
        "contact": contact,
        "riding": sentences.riding_in_words(shown.riding),
        "works": bool(WORKING & frozenset(one.roles)),
        "may_change": reads.may_change(who, one.roles),
        "on_barn_phones": bool(BARN_ROLES & frozenset(one.roles)),
        "sees_inside": bool(STAFF_INSIDE & frozenset(one.roles)),
        "releases": standing(moment, person=one.number, roles=frozenset(one.roles)),
        "devices": devices_of(one.number, moment),
        "changes": changed,
    }
