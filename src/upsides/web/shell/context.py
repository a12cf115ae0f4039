"""What the frame of every page needs: who is looking, where one can go, which yard this is."""

from dataclasses import dataclass
from typing import Any, cast

from django.http import HttpRequest
from django.utils.functional import SimpleLazyObject
from django.utils.translation import gettext_lazy as _

from upsides.books.models import Yard
from upsides.books.queries.visitors import Visitor
from upsides.web.shell.access import may_open

UNDER_THE_THUMB = 5
"""Pages that find room at the foot of a phone; where there are more, the last of these places leads to the others."""
ON_A_TABLET = 7
"""Pages in the head of a tablet, in one line, where not all of them find room; the last place leads to the others."""

PAGES = (
    ("morning", _("Morning")),
    ("checks", _("Checks")),
    ("clock", _("Clock")),
    ("diary", _("Diary")),
    ("string", _("String")),
    ("feed_board", _("Feed")),
    ("due", _("Due")),
    ("sales", _("Sales")),
    ("people", _("People")),
    ("staff", _("Staff")),
    ("jobs", _("Jobs")),
)
"""The pages in the head, each shown to those who may open it; the first ones stand under a phone's thumb."""


@dataclass(frozen=True, slots=True)
class Place:
    """A page in the head.

    Args:
        name: the page's name.
        words: what it is called.
        here: whether it is the page that is shown.
        near: whether it has its place at the foot of a phone.
        tablet: whether it has its place in the head of a tablet.
    """

    name: str
    words: str
    here: bool
    near: bool
    tablet: bool = True


def places(who: Visitor, here: str | None) -> list[Place]:
    """Return the pages that somebody may open, in their order."""
    shown = [(name, words) for name, words in PAGES if name != "morning" or who.sees_all_horses]
    open_to = [(name, words) for name, words in shown if may_open(name, who.roles)]
    near = len(open_to) if len(open_to) <= UNDER_THE_THUMB else UNDER_THE_THUMB - 1
    wide = len(open_to) if len(open_to) <= ON_A_TABLET + 1 else ON_A_TABLET
    return [
        Place(name, str(words), name == here, place < near, place < wide) for place, (name, words) in enumerate(open_to)
    ]


def frame(request: HttpRequest) -> dict[str, Any]:
    """Return the frame's values."""
    who: Visitor | None = getattr(request, "visitor", None)
    match = getattr(request, "resolver_match", None)
    here = match.url_name if match else None
    return {
        "visitor": who,
        "places": places(who, here) if who else [],
        "yard": SimpleLazyObject(lambda: cast("Any", Yard.objects.first())),
    }
