"""Writes about saved views: a list's columns, order and filters under a name of the person's own."""

from django.db import transaction

from upsides.books.models import Person, SavedView
from upsides.errors import ViewGoneError, ViewNameError
from upsides.errors.wording import gettext as _

LONGEST_NAME = 60
LONGEST_QUERY = 1000


@transaction.atomic
def save_view(person: Person, page: str, name: str, query: str, number: int | None = None) -> SavedView:
    """Save a view under a name; one that bears that name already is replaced.

    Args:
        person: whose it is.
        page: the list.
        name: what it is called.
        query: columns, order and filters as the address has them.
        number: the saved view that was open, which is saved over and takes the name; None for a new one.

    Raises:
        ViewNameError: there is no name, it is too long, or another view bears it.
        ViewGoneError: the view that was open is no longer there.
    """
    called = " ".join(name.split())
    if not (called.isprintable() and 0 < len(called) <= LONGEST_NAME and len(query) <= LONGEST_QUERY):
        raise ViewNameError(name, _("call it something of at most {longest_name} letters", longest_name=LONGEST_NAME))
    views = SavedView.objects.filter(person=person, page=page)
    if number is None:
        return views.update_or_create(person=person, page=page, name=called, defaults={"query": query})[0]
    if views.filter(name=called).exclude(pk=number).exists():
        raise ViewNameError(
            name, _("another of your views is called that; choose another name, or forget that one first")
        )
    if not views.filter(pk=number).update(name=called, query=query):
        raise ViewGoneError
    return views.get(pk=number)


def forget_view(person: Person, number: int) -> None:
    """Delete a person's saved view; nothing happens where it is gone already."""
    SavedView.objects.filter(person=person, pk=number).delete()
