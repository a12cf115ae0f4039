"""What is asked for when signing in, in our words; what is done with it is allauth's."""

from typing import Any

from allauth.account.forms import (
    ChangePasswordForm,
    LoginForm,
    ReauthenticateForm,
    ResetPasswordForm,
    ResetPasswordKeyForm,
)
from allauth.mfa.base.forms import AuthenticateForm
from allauth.mfa.base.forms import ReauthenticateForm as ReauthenticateByCodeForm
from allauth.mfa.totp.forms import ActivateTOTPForm
from django import forms
from django.utils.translation import gettext_lazy as _

from upsides.books.models import Person
from upsides.web.signin.backend import let_in

NAME = {"autocomplete": "username", "autocapitalize": "none", "spellcheck": "false", "autofocus": True}
CODE = {"autocomplete": "one-time-code", "inputmode": "numeric", "autofocus": True}
ABOUT_PASSWORDS = _(
    "At least 10 characters. A few words in a row are easy to keep in mind. Not one that many people use, and not "
    "your name."
)


def _word(form: forms.Form, name: str, label: Any, help_text: Any = "", **attributes: object) -> None:
    """Give a field our words, and take the grey text out of its box, which says nothing more than the label."""
    field = form.fields[name]
    field.label, field.help_text = label, help_text
    field.widget.attrs.pop("placeholder", None)
    field.widget.attrs |= attributes


class SignInForm(LoginForm):  # type: ignore[misc]  # allauth ships no types
    """Sign-in name and password."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _word(self, "login", _("Sign-in name"), **NAME)
        _word(self, "password", _("Password"))
        _word(
            self,
            "remember",
            _("Keep me signed in on this phone or computer"),
            _("For 14 days. Leave it out where others use the same one."),
        )
        self.fields["remember"].initial = True


class NewPasswordForm(ChangePasswordForm):  # type: ignore[misc]  # the same
    """The present password and a new one."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _word(self, "oldpassword", _("Your present password"))
        _word(self, "password1", _("A new password"), ABOUT_PASSWORDS)
        _word(self, "password2", _("The new password once more"))


class FirstPasswordForm(ResetPasswordKeyForm):  # type: ignore[misc]  # the same
    """A password chosen on a one-time link."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _word(self, "password1", _("A password of your own"), ABOUT_PASSWORDS)
        _word(self, "password2", _("The same once more"))


class LostPasswordForm(ResetPasswordForm):  # type: ignore[misc]  # the same
    """The address that a link is sent to."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _word(self, "email", _("Your e-mail address"))

    def clean_email(self) -> str:
        """Find who has this address in the books, however it is capitalised there; nobody is no error."""
        email = str(self.cleaned_data["email"])
        found = Person.objects.filter(email__iexact=email, login__isnull=False)
        self.users = [person for person in found if let_in(person)]
        return email


class PasswordAgainForm(ReauthenticateForm):  # type: ignore[misc]  # the same
    """The password once more, before something weighty."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _word(self, "password", _("Your password"), autofocus=True)


class CodeForm(AuthenticateForm):  # type: ignore[misc]  # the same
    """The code of the second step."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _word(self, "code", _("Code"), _("The six figures that the app shows now, or a spare code."), **CODE)


class CodeAgainForm(ReauthenticateByCodeForm):  # type: ignore[misc]  # the same
    """A code once more, before something weighty."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _word(self, "code", _("Code"), _("The six figures that the app shows now, or a spare code."), **CODE)


class FirstCodeForm(ActivateTOTPForm):  # type: ignore[misc]  # the same
    """The first code of a new app, which proves that it was set up right."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _word(self, "code", _("Code"), _("The six figures that the app shows now."), **(CODE | {"autofocus": False}))
