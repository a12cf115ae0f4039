"""The list replaced in place while somebody types or chooses, with the address bar following."""

from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.cache import patch_vary_headers
from django_htmx.middleware import HtmxDetails

from upsides.web.shell.middleware import VisitedRequest
from upsides.web.string.asking import Asked


def in_place(request: VisitedRequest) -> bool:
    """Return whether the page is there already and asks for its list alone."""
    asks = HtmxDetails(request)
    return bool(asks) and not asks.history_restore_request


def answered(request: VisitedRequest, response: HttpResponse, asked: Asked) -> HttpResponse:
    """Return the answer with the address under which the same list is found again."""
    patch_vary_headers(response, ["HX-Request"])
    if in_place(request):
        response.headers["HX-Replace-Url"] = address_of(asked.address(), asked.view, request.GET.get("as_of", ""))
    return response


def back_there(request: HttpRequest) -> str:
    """Return what links of a page add, so that they stay at the moment that it looks from; empty for now."""
    text = request.GET.get("as_of", "").strip()
    return "?" + urlencode({"as_of": text}) if text else ""


def address_of(query: str, view: int | None = None, as_of: str = "") -> str:
    """Return the address of a list.

    Args:
        query: what is asked, as an address has it.
        view: number of the saved view that is open.
        as_of: the moment, as the address has it.
    """
    rest = urlencode({"view": view or "", "as_of": as_of})
    pairs = [pair for pair in (*query.split("&"), *rest.split("&")) if pair and not pair.endswith("=")]
    return "?".join(part for part in (reverse("string"), "&".join(pairs)) if part)
