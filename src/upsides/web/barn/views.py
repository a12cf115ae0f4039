"""The barn phone: names, a PIN, and handing over."""

from collections.abc import Callable
from functools import wraps
from itertools import groupby
from typing import Concatenate, ParamSpec

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login, logout
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from upsides.books.models import Device, Person
from upsides.books.queries.devices import names_on, on_barn_phones
from upsides.books.queries.visitors import visitor
from upsides.books.services.pins import try_pin
from upsides.errors import PinWaitError, PinWrongError
from upsides.web.barn.device import DeviceRequest, forget_token, keep_token, open_on
from upsides.web.barn.forms import PinForm
from upsides.web.shell.access import may_open
from upsides.web.shell.middleware import DEVICE_COOKIE
from upsides.web.shell.refusals import told
from upsides.web.signin.demo import demo_pin

P = ParamSpec("P")


def on_barn_phone(
    view: Callable[Concatenate[DeviceRequest, Device, P], HttpResponse],
) -> Callable[Concatenate[DeviceRequest, P], HttpResponse]:
    """Return the view with the barn phone as second argument; elsewhere a page explains what a barn phone is."""

    @wraps(view)
    def answer(request: DeviceRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        if request.device is not None and request.device.shared:
            return view(request, request.device, *args, **kwargs)
        response = render(request, "barn/explained.html")
        if request.device is None:
            forget_token(response)
        return response

    return answer


@never_cache
@on_barn_phone
def barn(request: DeviceRequest, phone: Device) -> HttpResponse:
    """Show the names of those who may use this phone."""
    names = names_on(phone)
    groups = [list(some) for _here, some in groupby(names, key=lambda one: one.here)]
    return render(request, "barn/names.html", {"phone": phone, "names": names, "groups": groups})


@never_cache
@on_barn_phone
def pin(request: DeviceRequest, phone: Device, number: int) -> HttpResponse:
    """Ask for somebody's PIN, and let that person in."""
    person = on_barn_phones().filter(pk=number).first()
    if person is None:
        messages.info(request, _("That name is no longer on this phone."))
        return redirect("barn")
    form = PinForm(request.POST or None)
    if form.is_valid() and _right(form, phone, person):
        return _let_in(request, phone, person)
    return render(request, "barn/pin.html", {"phone": phone, "person": person, "form": form, "demo_pin": demo_pin()})


@require_POST
def hand_over(request: HttpRequest) -> HttpResponse:
    """End the session and go back to the names."""
    logout(request)
    return redirect("barn")


def _right(form: PinForm, phone: Device, person: Person) -> bool:
    try:
        try_pin(phone, person, form.cleaned_data["pin"])
    except (PinWrongError, PinWaitError) as error:
        form.add_error("pin", told(error))
        return False
    return True


def _let_in(request: DeviceRequest, phone: Device, person: Person) -> HttpResponse:
    """End the session of whoever was here and begin the person's own."""
    token = request.COOKIES[DEVICE_COOKIE]
    logout(request)
    person.skip_history_when_saving = True  # type: ignore[attr-defined]  # of the sign-in only its time is saved
    login(request, person, settings.AUTHENTICATION_BACKENDS[0])
    open_on(request.session, phone)
    response = redirect("checks" if may_open("checks", visitor(person, barn=True).roles) else "string")
    keep_token(response, token)
    return response
