"""What is filled in on a barn phone."""

from django import forms
from django.utils.translation import gettext_lazy as _

from upsides.books.services.devices import NAME_LENGTH
from upsides.books.services.pins import LONGEST

_PIN = {"inputmode": "numeric", "autocomplete": "off", "autofocus": True, "class": "pin", "enterkeyhint": "go"}


class Unshown(forms.PasswordInput):
    """Digits that a page never shows again, in a field that no browser offers to keep as a password."""

    input_type = "text"


class PinForm(forms.Form):
    """A PIN."""

    pin = forms.CharField(
        label=_("PIN"),
        max_length=LONGEST,
        widget=Unshown(attrs=_PIN),
        error_messages={"required": _("Enter your PIN.")},
    )


class PhoneForm(forms.Form):
    """A new barn phone."""

    name = forms.CharField(
        label=_("What it is called"),
        max_length=NAME_LENGTH,
        help_text=_("With the name of a barn in it, the people of that barn stand first."),
        widget=forms.TextInput(attrs={"autocomplete": "off", "list": "barns"}),
        error_messages={"required": _("Give it a name, such as that of the barn it hangs in.")},
    )
