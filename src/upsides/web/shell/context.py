"""What the frame of every page needs: who is looking, where one can go, which yard this is."""

from typing import Any, cast

from django.http import HttpRequest
from django.utils.functional import SimpleLazyObject
from django.utils.translation import gettext_lazy as _

from upsides.books.models import Yard
from upsides.books.queries.visitors import Visitor
from upsides.web.shell.access import may_open

PAGES = (
    ("string", _("String")),
    ("diary", _("Diary")),
    ("sales", _("Sales")),
    ("people", _("People")),
    ("jobs", _("Jobs")),
)
"""The pages in the head, each shown to those who may open it."""


def frame(request: HttpRequest) -> dict[str, Any]:
    """Return the frame's values."""
    who: Visitor | None = getattr(request, "visitor", None)
    match = getattr(request, "resolver_match", None)
    here = match.url_name if match else None
    places = [(name, words, name == here) for name, words in PAGES if who and may_open(name, who.roles)]
    return {"visitor": who, "places": places, "yard": SimpleLazyObject(lambda: cast("Any", Yard.objects.first()))}
