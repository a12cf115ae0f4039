"""One-time links: what is in them, and when they stop working."""

from django.contrib.auth.base_user import AbstractBaseUser
from django.contrib.auth.tokens import PasswordResetTokenGenerator

from upsides.web.signin.backend import let_in


class OneTimeTokens(PasswordResetTokenGenerator):
    """Makes and checks the tokens of one-time links.

    A token stops working once a password was chosen, when the person's e-mail address changes, when the person's
    devices lose their trust, when the person is shut out or erased, and with age (`PASSWORD_RESET_TIMEOUT` seconds).
    Signing in does not end it, because a tap on a barn phone is a sign-in too.
    """

    def _make_hash_value(self, user: AbstractBaseUser, timestamp: int) -> str:
        marks = (user.pk, user.password, timestamp, getattr(user, "email", ""), getattr(user, "trust", 0))
        return "|".join(str(mark) for mark in marks)

    def check_token(self, user: AbstractBaseUser | None, token: str | None) -> bool:
        """Return whether a token is this person's and still works."""
        return let_in(user) and super().check_token(user, token)
