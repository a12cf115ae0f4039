"""The yard's barn phones: which there are, making one, ending one."""

from django.contrib import messages
from django.contrib.auth import logout
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from upsides.books.models import Device
from upsides.books.queries.devices import barn_phones
from upsides.books.queries.people import barns
from upsides.books.services.devices import add_shared, revoke
from upsides.errors import NotOnBarnPhoneError
from upsides.web.barn.device import DeviceRequest, keep_token
from upsides.web.barn.forms import PhoneForm
from upsides.web.shell.moments import moment_of


def phones(request: DeviceRequest) -> HttpResponse:
    """List the barn phones; make this phone one."""
    form = PhoneForm(request.POST or None)
    if request.method == "POST":
        _refuse_on_barn_phone(request)
        if form.is_valid():
            return _make(request, form.cleaned_data["name"])
    moment = moment_of(request)
    context = {"moment": moment, "phones": barn_phones(moment), "form": form, "barns": barns(moment)}
    return render(request, "barn/phones.html", context)


@require_POST
def end_phone(request: DeviceRequest, number: int) -> HttpResponse:
    """End a barn phone: whoever uses it is out at once."""
    _refuse_on_barn_phone(request)
    phone = get_object_or_404(Device, pk=number, shared=True)
    revoke(phone)
    messages.success(request, _("%(name)s is no longer a barn phone.") % {"name": phone.name})
    return redirect("barn_phones")


def _make(request: DeviceRequest, name: str) -> HttpResponse:
    """Sign the person out here, end what was the person's own device, and give the browser its new token."""
    _phone, token = add_shared(name, request.visitor.person)
    if request.device is not None:
        revoke(request.device)
    logout(request)
    response = redirect("barn")
    keep_token(response, token)
    return response


def _refuse_on_barn_phone(request: DeviceRequest) -> None:
    if request.visitor.barn:
        raise NotOnBarnPhoneError
