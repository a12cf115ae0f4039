"""The views of the list that a person keeps, ready for the template."""

from dataclasses import dataclass
from typing import Any

from upsides.books.models import Person, SavedView
from upsides.books.queries.saved_views import views_of
from upsides.web.string.asking import PAGE, Asked
from upsides.web.string.following import address_of


@dataclass(frozen=True, slots=True)
class KeptView:
    """A kept view as a link.

    Args:
        view: its row of the books.
        address: where it opens.
        open: whether it is open.
    """

    view: SavedView
    address: str
    open: bool


def kept_views(person: Person, asked: Asked, as_of: str) -> dict[str, Any]:
    """Return a person's kept views, and the one that is open.

    Args:
        person: whose.
        asked: what the page is asked.
        as_of: the moment that it looks from, as the address has it.
    """
    views = [
        KeptView(view, address_of(view.query, view.pk, as_of), view.pk == asked.view) for view in views_of(person, PAGE)
    ]
    return {"views": views, "open_view": next((kept.view for kept in views if kept.open), None)}
