"""In whose name a command of the office reads and writes."""

from upsides.books.models import Person, Role
from upsides.errors import AuthorNeededError

OFFICE = frozenset({Role.TRAINER, Role.ASSISTANT, Role.SECRETARY})
"""Roles that take tables in and give them out."""


def office_person(login: str = "") -> Person:
    """Return the person of a sign-in name, or else the trainer who was entered first.

    Raises:
        AuthorNeededError: nobody of the office is called so, or there is no trainer.
    """
    staff = Person.objects.filter(is_active=True, erased_at=None)
    if login:
        found = staff.filter(login__iexact=login, posts__role__in=OFFICE).first()
    else:
        found = staff.filter(login__isnull=False, posts__role=Role.TRAINER).order_by("pk").first()
    if found is None:
        raise AuthorNeededError(login)
    return found
