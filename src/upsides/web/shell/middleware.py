"""Before every page: who is looking, and whether the page is open to that person."""

from collections.abc import Callable
from typing import Any, cast

from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render, resolve_url
from django.urls import reverse

from upsides.books import clock
from upsides.books.queries.visitors import Visitor, visitor
from upsides.errors import UpsidesError
from upsides.web.shell.access import may_open
from upsides.web.shell.refusals import refused

BARN = "barn"
"""Key of the session that says that this is a barn phone."""

DEVICE_COOKIE = "upsides_device"
"""Cookie with the token of this phone or computer."""


def one_place(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Read once a page where the yard stands, for pages that change nothing."""

    def answer(request: HttpRequest) -> HttpResponse:
        if request.method not in {"GET", "HEAD"}:
            return get_response(request)
        with clock.one_place():
            return get_response(request)

    return answer


class VisitedRequest(HttpRequest):
    """A request of somebody who has signed in."""

    visitor: Visitor


class known_visitor:  # noqa: N801 (named like the other middleware, which are functions)
    """Sets `request.visitor`, None for somebody who has not signed in, and lets nobody past who may not."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer the request."""
        cast("Any", request).visitor = _visitor(request)
        return self.get_response(request)

    def process_view(self, request: HttpRequest, _view: Any, _args: Any, _kwargs: Any) -> HttpResponse | None:
        """Refuse what is not open, before the page does anything."""
        who: Visitor | None = cast("Any", request).visitor
        name = request.resolver_match.url_name if request.resolver_match else None
        if may_open(name, who.roles if who else None):
            return None
        if who is None:
            return _to_the_door(request)
        return render(request, "shell/not_yours.html", status=403)

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        """Tell what was refused in words that a person can act on."""
        if isinstance(error, UpsidesError):
            return render(request, "shell/refused.html", {"reason": refused(error)}, status=400)
        return None


def _visitor(request: HttpRequest) -> Visitor | None:
    if not request.user.is_authenticated:
        return None
    return visitor(request.user, barn=bool(request.session.get(BARN)))


def _to_the_door(request: HttpRequest) -> HttpResponseRedirect:
    """Send somebody to sign in: by tap and PIN on a barn phone, by password elsewhere."""
    if request.COOKIES.get(DEVICE_COOKIE, "").startswith("barn-"):
        return HttpResponseRedirect(reverse("barn"))
    return redirect_to_login(request.get_full_path(), resolve_url("account_login"))
