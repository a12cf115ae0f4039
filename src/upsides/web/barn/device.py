"""Which phone or computer a page is asked from: its cookie, and what sessions on it hold.

A session belongs to the device that it was opened on and ends with it. Signing in by password on a browser that is not
known yet makes it the person's own device. On a barn phone every session, also one opened by password, counts for barn
work only and ends after a while without use.
"""

from collections.abc import Callable
from typing import cast

from django.conf import settings
from django.contrib.auth import logout
from django.contrib.sessions.backends.base import SessionBase
from django.http import HttpRequest, HttpResponse

from upsides.books.models import Device, Person
from upsides.books.services.devices import add_own, device_of
from upsides.web.shell.middleware import BARN, DEVICE_COOKIE, VisitedRequest
from upsides.web.signin.devices import described

DEVICE = "device"
"""Key of the session with the number of the device that it was opened on."""

BARN_SECONDS = 10 * 60
"""How long a session on a barn phone lasts without use."""

BY_ITSELF = "X-By-Itself"
"""Header of what a page asks without anybody doing anything, which is no use of a phone."""

COOKIE_SECONDS = 365 * 24 * 3600

GetResponse = Callable[[HttpRequest], HttpResponse]


class DeviceRequest(VisitedRequest):
    """A request from a known phone or computer; `device` is None for one that is not known."""

    device: Device | None


def known_device(get_response: GetResponse) -> GetResponse:
    """Return middleware that sets `request.device`, ends sessions whose device was ended, and gives out cookies."""

    def answer(request: HttpRequest) -> HttpResponse:
        asked = cast("DeviceRequest", request)
        asked.device = device_of(request.COOKIES.get(DEVICE_COOKIE, ""))
        token = _settle(asked)
        response = get_response(request)
        if request.user.is_authenticated and DEVICE not in request.session:  # has just signed in
            token = _bind(asked)
        if token and DEVICE_COOKIE not in response.cookies:
            keep_token(response, token)
        elif token is None:
            forget_token(response)
        return response

    return answer


def open_on(session: SessionBase, device: Device) -> None:
    """Let a session belong to a device."""
    session[DEVICE] = device.pk
    if device.shared:
        session[BARN] = True
        session.set_expiry(BARN_SECONDS)


def keep_token(response: HttpResponse, token: str) -> None:
    """Give a browser its token, for a year from now."""
    response.set_cookie(
        DEVICE_COOKIE,
        token,
        max_age=COOKIE_SECONDS,
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Lax",
    )


def forget_token(response: HttpResponse) -> None:
    """Take its token from a browser."""
    response.delete_cookie(DEVICE_COOKIE, samesite="Lax")


def _settle(request: DeviceRequest) -> str | None:
    """End a session whose device is gone, or keep a barn phone's alive.

    Returns:
        A token to give out, empty for none; None where the browser is to forget the one that it has.
    """
    if not request.user.is_authenticated:
        return ""
    number = request.session.get(DEVICE)
    if number is None:
        return _bind(request)
    if request.device is not None and request.device.pk == number:
        used = request.device.shared and BY_ITSELF not in request.headers
        request.session.modified = used or request.session.modified
        return ""
    if request.session.get(BARN) or not Device.objects.filter(pk=number, revoked_at=None).exists():
        logout(request)
        request.COOKIES.pop(DEVICE_COOKIE, None)
        return None
    return _bind(request)  # the cookie was lost, the device was not ended


def _bind(request: DeviceRequest) -> str:
    """Let the session belong to the browser's device, a new one if need be; return its token."""
    person = cast("Person", request.user)
    if request.device is None or request.device.person_id not in {None, person.pk}:
        request.device, token = add_own(person, described(request.headers.get("User-Agent", "")))
        request.COOKIES[DEVICE_COOKIE] = token
    open_on(request.session, request.device)
    return request.COOKIES[DEVICE_COOKIE]
