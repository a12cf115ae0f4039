"""How signing in works here: nobody signs up, the yard lets people in, and everything is said in our words."""

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from allauth.account.adapter import DefaultAccountAdapter
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from upsides.books.models import Person
from upsides.web.signin.backend import let_in

WORDS = {
    "username_password_mismatch": _(
        "That sign-in name and that password do not belong together. Look at both and try again."
    ),
    "too_many_login_attempts": _("There were too many wrong tries. Wait ten minutes, then try again."),
    "rate_limited": _("There were too many tries. Wait a few minutes, then try again."),
    "enter_current_password": _("This is not your present password."),
    "incorrect_password": _("This is not your password."),
    "incorrect_code": _("This code does not fit. Take the one that the app shows now."),
    "invalid_password_reset": _("This link does not work any more."),
}
log = logging.getLogger(__name__)


class ClosedAccounts(DefaultAccountAdapter):  # type: ignore[misc]  # allauth ships no types
    """Accounts are made by the yard, never by strangers."""

    error_messages = DefaultAccountAdapter.error_messages | WORDS

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        """Return that nobody can sign up."""
        del request
        return False

    def pre_login(self, request: HttpRequest, user: Person, **rest: Any) -> HttpResponse | None:
        """Turn away somebody who gave the right password but has been shut out or erased."""
        if let_in(user):
            found: HttpResponse | None = super().pre_login(request, user, **rest)
            return found
        return HttpResponseRedirect(reverse("account_inactive"))

    def login(self, request: HttpRequest, user: Person) -> None:
        """Sign in; that is no change of the person, so the history gets no row."""
        with _unrecorded(user):
            super().login(request, user)

    def set_password(self, user: Person, password: str) -> None:
        """Keep a new password and nothing else, lest a change made meanwhile be undone."""
        user.set_password(password)
        with _unrecorded(user):
            user.save(update_fields=["password"])

    def get_password_change_redirect_url(self, request: HttpRequest) -> str:
        """Return the list of devices, on which only this one is left."""
        del request
        return reverse("usersessions_list")

    def send_mail(self, template_prefix: str, email: str, context: dict[str, Any]) -> None:
        """Send a letter; one that cannot be sent is noted in the log and holds nothing up."""
        try:
            super().send_mail(template_prefix, email, context)
        except OSError:
            log.exception("a letter to a person of the yard could not be sent")

    def send_password_reset_mail(self, user: Person, email: str, context: dict[str, Any]) -> None:
        """Send the link to the address in the books, whatever was typed."""
        del email
        super().send_password_reset_mail(user, user.email, context)

    def send_notification_mail(
        self, template_prefix: str, user: Person, context: dict[str, Any] | None = None, email: str | None = None
    ) -> None:
        """Tell a person by letter what was changed, at the address in the books."""
        del email
        super().send_notification_mail(template_prefix, user, {"person": user} | (context or {}), user.email)


@contextmanager
def _unrecorded(person: Person) -> Iterator[None]:
    """Save a person without a row in the history, which holds neither sign-ins nor passwords."""
    person.skip_history_when_saving = True  # type: ignore[attr-defined]  # simple_history reads it
    try:
        yield
    finally:
        del person.skip_history_when_saving  # type: ignore[attr-defined]  # the same
