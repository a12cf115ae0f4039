"""What is filled in about a horse itself."""

from collections.abc import Iterable
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from upsides.books.models import Horse
from upsides.books.services.horse_facts import Facts

LARGEST = 2**31 - 1
TYPED = {"autocomplete": "off"}
DIGITS = {"autocomplete": "off", "inputmode": "numeric", "spellcheck": "false", "class": "long"}


def day_field(label: Any, *, required: bool = True, hint: Any = "") -> forms.DateField:
    """Return a field for a day."""
    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    wrong = {"required": _("Choose the day."), "invalid": _("That is no day of the calendar.")}
    return forms.DateField(label=label, required=required, help_text=hint, widget=widget, error_messages=wrong)


def number_field(*, required: bool = False) -> forms.IntegerField:
    """Return a field that carries the number of a row, unseen."""
    return forms.IntegerField(required=required, min_value=0, max_value=LARGEST, widget=forms.HiddenInput)


def text_field(label: Any, longest: int, hint: Any = "", attrs: dict[str, str] | None = None) -> forms.CharField:
    """Return a field for a line of text that may stay empty."""
    widget = forms.TextInput(attrs=TYPED if attrs is None else attrs)
    return forms.CharField(label=label, max_length=longest, required=False, help_text=hint, widget=widget)


def typed_again(form: forms.Form, seen: int) -> dict[str, str]:
    """Return what was typed, resting on another change than the page did: kept once more, it holds."""
    return {name: form.data.get(name, "") for name in form.fields} | {"seen": str(seen)}


class HorseForm(forms.Form):
    """A horse."""

    name = text_field(_("Name"), 100, _("Leave it empty while it has none: it goes by its dam and year until then."))
    dam = text_field(_("Dam"), 100)
    sire = text_field(_("Sire"), 100)
    foaled = forms.IntegerField(
        label=_("Foaled, year"),
        min_value=1950,
        max_value=2150,
        error_messages={"required": _("Write the year of foaling.")},
    )
    foaled_on = day_field(_("Foaled, day"), required=False, hint=_("Where it is known."))
    sex = forms.ChoiceField(label=_("Sex"), choices=Horse.Sex.choices)
    gelded_on = day_field(_("Gelded on"), required=False, hint=_("A colt with a day here is a gelding."))
    colour = text_field(_("Colour"), 40)
    markings = text_field(_("Markings"), 400)
    passport = text_field(_("Passport"), 40)
    microchip = text_field(_("Microchip"), 40, _("15 digits, as the reader shows them."), DIGITS)
    life_number = text_field(_("Life number"), 40, _("15 letters and digits."), DIGITS)
    carer = forms.TypedChoiceField(label=_("Looked after by"), required=False, coerce=int, empty_value=None)
    joined = day_field(_("Came on"))
    left = day_field(_("Left for good on"), required=False, hint=_("Empty while it belongs to the yard."))
    why = text_field(_("Why it left"), 200)
    anyway = forms.BooleanField(label=_("It is another horse: keep it all the same"), required=False)
    seen = number_field()

    def __init__(self, *args: Any, people: Iterable[tuple[int, str]], twin: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["carer"].choices = [("", _("nobody")), *people]  # type: ignore[attr-defined]
        if not twin:
            del self.fields["anyway"]

    def facts(self) -> Facts:
        """Return the horse as it is filled in."""
        given = self.cleaned_data
        return Facts(**{name: given[name] for name in Facts.__slots__})


def initial_of(horse: Horse, why: str, seen: int) -> dict[str, Any]:
    """Return what the form starts with for a horse of the books."""
    values = {name: getattr(horse, name) for name in Facts.__slots__ if name != "carer"}
    called = horse.name if horse.named else ""
    return values | {"name": called, "carer": horse.carer_id or "", "why": why, "seen": seen}
