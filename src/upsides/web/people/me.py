"""One's own page: who one is here, PIN, phones and computers."""

from allauth.core.ratelimit import consume_or_429
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from upsides.books.models import Device, Person, Role
from upsides.books.queries import moments
from upsides.books.queries.devices import devices_of
from upsides.books.queries.staff import WORKING
from upsides.books.queries.visitors import BARN_ROLES
from upsides.books.riding import Riding
from upsides.books.services.devices import revoke
from upsides.books.services.people import set_pin
from upsides.errors import NotOnBarnPhoneError, PasswordWrongError, PersonFieldError
from upsides.web.barn.device import DeviceRequest
from upsides.web.people.forms import OwnPinForm
from upsides.web.people.sentences import riding_in_words, roles_in_words
from upsides.web.shell.refusals import told
from upsides.web.staff.pages import own_hours


def me(request: DeviceRequest) -> HttpResponse:
    """Show who one is here."""
    return _page(request, OwnPinForm())


@require_POST
def own_pin(request: DeviceRequest) -> HttpResponse:
    """Set one's own PIN, given the password; too many tries in a minute must wait."""
    _refuse_on_barn_phone(request)
    slow = consume_or_429(request, action="reauthenticate", user=request.user)
    if slow is not None:
        return slow  # type: ignore[no-any-return]  # allauth ships no types
    form = OwnPinForm(request.POST)
    if form.is_valid():
        try:
            _set(request, form)
        except PersonFieldError as error:
            form.add_error(error.field, told(error))
        else:
            messages.success(request, _("You have a new PIN."))
            return redirect("me")
    return _page(request, form)


@require_POST
def end_own_device(request: DeviceRequest, number: int) -> HttpResponse:
    """End one of one's own phones or computers."""
    _refuse_on_barn_phone(request)
    revoke(get_object_or_404(Device, pk=number, person=request.visitor.person))
    return redirect("me")


def _set(request: DeviceRequest, form: OwnPinForm) -> None:
    person = request.visitor.person
    if not person.check_password(form.cleaned_data["password"]):
        raise PasswordWrongError
    set_pin(person, form.cleaned_data["pin"], person)


def _page(request: DeviceRequest, form: OwnPinForm) -> HttpResponse:
    who = request.visitor
    has = frozenset(Role(role) for role in who.person.posts.values_list("role", flat=True))
    context = {
        "roles": roles_in_words(role for role in Role if role in has),
        "form": form,
        "on_barn_phones": bool(has & BARN_ROLES),
        "devices": devices_of(who.person.pk, moments.now()),
        "riding": [] if who.barn else riding_in_words(_riding(who.person)),
    }
    if has & WORKING:
        context |= own_hours(who.person.pk, moments.now(), private=not who.barn)
    return render(request, "people/me.html", context)


def _riding(person: Person) -> Riding:
    return Riding(person.born, person.weight_kg, person.skill, person.claim_lb, person.minimum_lb)


def _refuse_on_barn_phone(request: DeviceRequest) -> None:
    if request.visitor.barn:
        raise NotOnBarnPhoneError
