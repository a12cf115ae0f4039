"""What is filled in about recordings: a tracker, a key, a gallop's line."""

from typing import Any, Final, cast

from django import forms
from django.http import Http404
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from upsides.books.models import Gallop, Horse
from upsides.books.queries import moments

LONGEST: Final = 60


def horse_of(number: str) -> Horse:
    """Return a horse in training by its number, as a form has it.

    Raises:
        Http404: there is none.
    """
    found = moments.in_training(moments.now()).filter(pk=int(number)).first() if number.isdecimal() else None
    if found is None:
        raise Http404(_("No horse in training was chosen."))
    return found


def horse_choices(nobody: str) -> list[tuple[str, str]]:
    """Return the horses in training to choose from, after nobody."""
    named = moments.in_training(moments.now()).order_by("name").values_list("pk", "name")
    return [("", nobody), *((str(number), name) for number, name in named)]


class TrackerForm(forms.Form):
    """A tracker: what it is called, and who wears it."""

    name = forms.CharField(
        label=gettext_lazy("Its name"), max_length=LONGEST,
        help_text=gettext_lazy("As it is called in the yard, such as the number on its case."),
        error_messages={"required": gettext_lazy("Write what it is called.")},
    )  # fmt: skip
    horse = forms.ChoiceField(
        label=gettext_lazy("Usually worn by"), required=False,
        help_text=gettext_lazy("Its next recordings are given to this horse. What came in before stays as it is."),
    )  # fmt: skip

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        cast("forms.ChoiceField", self.fields["horse"]).choices = horse_choices(_("no horse in particular"))

    def wearer(self) -> Horse | None:
        """Return the horse that was chosen."""
        number = self.cleaned_data["horse"]
        return horse_of(number) if number else None


class KeyForm(forms.Form):
    """A key for a device."""

    name = forms.CharField(
        label=gettext_lazy("What will send with it"), max_length=LONGEST,
        widget=forms.TextInput(attrs={"placeholder": gettext_lazy("The dock in the tack room"), "autocomplete": "off"}),
        error_messages={"required": gettext_lazy("Say which device or program will send with it.")},
    )  # fmt: skip


class LineForm(forms.Form):
    """A gallop drawn from a recording."""

    work = forms.ChoiceField(
        label=gettext_lazy("Which piece of it"), widget=forms.RadioSelect,
        error_messages={"required": gettext_lazy("Choose the canter that went up the gallop from its start.")},
    )  # fmt: skip
    gallop = forms.ChoiceField(label=gettext_lazy("Which gallop"), required=False)
    name = forms.CharField(
        label=gettext_lazy("Or a new one, called"), required=False, max_length=LONGEST,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )  # fmt: skip
    surface = forms.ChoiceField(
        label=gettext_lazy("Made of"), choices=Gallop.Surface.choices, required=False, initial=Gallop.Surface.OTHER
    )
    marks = forms.CharField(
        label=gettext_lazy("Its marks"), required=False, max_length=400, initial="furlongs",
        help_text=gettext_lazy("furlongs, a step like 200m, or metres from its start like 0, 201.2, 402.3."),
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )  # fmt: skip

    def __init__(self, *args: Any, works: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        known = Gallop.objects.filter(used=True).order_by("name").values_list("pk", "name")
        gallops = [("", _("a new one")), *((str(number), name) for number, name in known)]
        cast("forms.ChoiceField", self.fields["gallop"]).choices = gallops
        cast("forms.ChoiceField", self.fields["work"]).choices = works

    def clean(self) -> dict[str, Any]:
        """Refuse a line that is no gallop's."""
        given = super().clean() or {}
        if not given.get("gallop") and not given.get("name", "").strip():
            self.add_error("name", _("Choose a gallop, or write what the new one is called."))
        return given
