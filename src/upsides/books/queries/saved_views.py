"""Reads of saved views."""

from upsides.books.models import Person, SavedView


def views_of(person: Person, page: str) -> list[SavedView]:
    """Return a person's views of a list, in order of name."""
    return list(SavedView.objects.filter(person=person, page=page))
