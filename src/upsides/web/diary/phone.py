"""What a phone keeps so that entering goes on without signal: an empty page, its scripts and styles, names of horses.

Nothing of anybody is in it, and no inside information.
"""

import json
import re
from functools import cache
from hashlib import sha256
from typing import Any, Final

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.template.loader import render_to_string
from django.templatetags.static import static
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import etag, require_GET

from upsides.books.diary.kind import STAFF
from upsides.books.models import Horse
from upsides.books.queries import moments
from upsides.books.queries.boxes import Stood, boxes
from upsides.books.queries.checks import news
from upsides.books.queries.clocked import marks
from upsides.books.queries.names import Lists, lists
from upsides.charts.theme import LIGHT
from upsides.web.checks import pages as checks
from upsides.web.clock import pages as clock
from upsides.web.diary import scripts
from upsides.web.diary.pages import author, entering, horses, second_dose
from upsides.web.shell.middleware import VisitedRequest

_PARTS: Final = re.compile(r'(?:href|src)="(/[^"]+\.(?:css|js|svg|png|woff2))"')
JAVASCRIPT: Final = "text/javascript; charset=utf-8"
ENTERED: Final = ("diary", "checks", "clock")
"""Pages that can be written without signal; each has an empty one that a phone keeps and shows in its place."""
FOREVER: Final = "public, max-age=31536000, immutable"


@cache
def shell(name: str) -> str:
    """Return a page for entering as a phone keeps it, for the address of a name."""
    if name == "checks":
        return render_to_string("checks/shell.html", checks.entering(Lists()))
    if name == "clock":
        return render_to_string("clock/shell.html", clock.entering())
    return render_to_string("diary/shell.html", entering({}, STAFF, Lists()))


@cache
def no_signal() -> str:
    """Return the page that stands for every other without signal."""
    return render_to_string("diary/no_signal.html", {})


def kept_page(_request: HttpRequest, name: str) -> HttpResponse:
    """Show a page for entering without signal."""
    return HttpResponse(shell(name), headers={"Cache-Control": "no-cache"})


def diary_no_signal(_request: HttpRequest) -> HttpResponse:
    """Show the page that stands for others without signal."""
    return HttpResponse(no_signal(), headers={"Cache-Control": "no-cache"})


def service_worker(_request: HttpRequest) -> HttpResponse:
    """Answer with the worker: two lines that change whenever anything that a phone keeps does."""
    pages = "".join(map(shell, ENTERED)) + no_signal()
    parts = sorted({*_PARTS.findall(pages), *map(scripts.address, scripts.SCRIPTS)})
    names = ("no_signal", "send", "author", "horses")
    settings = {name: reverse(f"diary_{name}") for name in names} | {
        "pages": {reverse(name): reverse(f"{name}_shell") for name in ENTERED},
        "version": sha256((pages + "".join(parts)).encode()).hexdigest()[:12],
        "parts": parts,
        "works": reverse("clock_works"),
        "doors": [reverse("account_login"), reverse("barn")],
    }
    lines = f'import {{ serve }} from "{scripts.address("worker")}";\nserve({json.dumps(settings)});\n'
    return HttpResponse(lines, content_type=JAVASCRIPT, headers={"Cache-Control": "no-cache"})


def diary_script(_request: HttpRequest, version: str, name: str) -> HttpResponse:
    """Answer with a script of this version; an address of another version is gone."""
    if version != scripts.VERSION or name not in scripts.SCRIPTS:
        raise Http404(_("There is no such script in this version."))
    return HttpResponse(scripts.SCRIPTS[name], content_type=JAVASCRIPT, headers={"Cache-Control": FOREVER})


def manifest(_request: HttpRequest) -> JsonResponse:
    """Answer with what a phone needs to put the diary on its first screen."""
    values: dict[str, Any] = {
        "id": "/",
        "name": "Upsides",
        "short_name": "Upsides",
        "description": _("The yard's diary, with and without signal."),
        "start_url": reverse("diary"),
        "scope": "/",
        "display": "standalone",
        "background_color": LIGHT.paper,
        "theme_color": LIGHT.paper,
        "icons": [{"src": static("mark.svg"), "sizes": "any", "type": "image/svg+xml", "purpose": "any"}],
    }
    return JsonResponse(values, content_type="application/manifest+json", headers={"Cache-Control": "no-cache"})


def diary_author(request: VisitedRequest) -> JsonResponse:
    """Answer with who enters on this phone, null where it is not known."""
    return JsonResponse({"author": author(request, moments.now())}, headers={"Cache-Control": "no-store"})


def diary_horses(request: VisitedRequest) -> JsonResponse:
    """Answer with the horses in training, gallops with their marks and names of things, the same for everybody."""
    now = moments.now()
    stands = boxes(now)
    listed = [_horse(horse, stands.get(horse.pk)) for horse, _own in horses(request.visitor.person, now)]
    told = {"horses": listed, "marks": marks(now)} | lists(now).told()
    return JsonResponse(told, headers={"Cache-Control": "no-store"})


def _horse(horse: Horse, stood: Stood | None) -> dict[str, Any]:
    """Return a horse as a phone lists it: by name, and in the order of the boxes."""
    place = {"barn": stood.barn, "box": stood.name, "position": stood.position} if stood else {}
    return {"number": horse.pk, "name": horse.name} | place


def diary_doses(request: VisitedRequest) -> JsonResponse:
    """Answer with what the chosen horse was given today of the chosen kind."""
    given = second_dose(request.GET, moments.now())
    return JsonResponse({"given": given}, headers={"Cache-Control": "no-store"})


@require_GET
@etag(lambda _request: f'"{news()}"')
def diary_news(_request: HttpRequest) -> HttpResponse:
    """Answer that there is something new since the answer that is named, or that there is not (304)."""
    return HttpResponse(status=204, headers={"Cache-Control": "no-store"})
