"""Letting somebody in: a one-time link on which a person chooses a password and is signed in."""

from datetime import timedelta

from allauth.account.utils import user_pk_to_url_str
from django.conf import settings
from django.urls import reverse

from upsides.books.models import Person
from upsides.errors import CannotInviteError
from upsides.errors.wording import gettext
from upsides.web.signin.backend import let_in
from upsides.web.signin.tokens import OneTimeTokens


def invitation_path(person: Person) -> str:
    """Return the path of a one-time link for a person; it works until it was used, or for `invitation_lasts()`.

    Raises:
        CannotInviteError: the person has no sign-in name, or may not sign in.
    """
    if not let_in(person):
        raise CannotInviteError(
            person.name, gettext("may not sign in"), gettext("open the person's sign-in again first")
        )
    if not person.login:
        raise CannotInviteError(person.name, gettext("has no sign-in name"), gettext("enter one for the person first"))
    key = {"uidb36": user_pk_to_url_str(person), "key": OneTimeTokens().make_token(person)}
    return reverse("account_reset_password_from_key", kwargs=key)


def invitation_lasts() -> timedelta:
    """Return how long a one-time link works if nobody uses it."""
    return timedelta(seconds=settings.PASSWORD_RESET_TIMEOUT)
