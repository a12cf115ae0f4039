"""Who may sign in at all."""

from typing import Any, TypeGuard

from allauth.account.auth_backends import AuthenticationBackend

from upsides.books.models import Person


def let_in(person: object) -> TypeGuard[Person]:
    """Return whether somebody may sign in: a person of the yard who has neither been shut out nor been erased."""
    return isinstance(person, Person) and person.is_active and person.erased_at is None


class YardPeople(AuthenticationBackend):  # type: ignore[misc]  # allauth ships no types
    """Knows people by sign-in name and password; asked again on every page, so that who is shut out is out at once."""

    def user_can_authenticate(self, user: Any) -> bool:
        """Return whether a person may sign in, or stay signed in."""
        return let_in(user)
