"""What is filled in about boxes."""

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from upsides.books.services.boxes import Put, Taken
from upsides.web.horses.forms import TYPED, day_field, number_field


class DayForm(forms.Form):
    """The day of an address."""

    day = day_field(_("Day"))


class PutForm(forms.Form):
    """A horse that is put into a box; everything but the box was on the page already."""

    box = number_field()
    day = day_field(_("From"))
    seen = number_field()
    taken = forms.ChoiceField(required=False, choices=[(one.value, one.value) for one in Taken])
    other = number_field()

    def asked(self, horse: int) -> Put:
        """Return what is asked for."""
        given = self.cleaned_data
        taken = Taken(given["taken"] or Taken.ASK)
        return Put(horse, given["box"] or None, given["day"], given["seen"] or None, taken, given["other"] or None)


class BoxesForm(forms.Form):
    """Boxes that are added."""

    barn = forms.CharField(label=_("Barn"), max_length=60, widget=forms.TextInput(attrs=TYPED | {"list": "barns"}))
    names = forms.CharField(
        label=_("Boxes"),
        max_length=400,
        required=False,
        help_text=_("Like 1-12, 14, Foaling box. Empty for one that means: somewhere in the barn."),
        widget=forms.TextInput(attrs=TYPED),
    )
    isolation = forms.BooleanField(label=_("They stand apart, for isolation"), required=False)


class BoxForm(forms.Form):
    """A box as it is called."""

    barn = forms.CharField(label=_("Barn"), max_length=60, widget=forms.TextInput(attrs=TYPED | {"list": "barns"}))
    name = forms.CharField(label=_("Box"), max_length=20, required=False, widget=forms.TextInput(attrs=TYPED))
    isolation = forms.BooleanField(label=_("It stands apart, for isolation"), required=False)
    seen = number_field()


def wanted_walk(sent: QueryDict) -> tuple[list[int], list[int]]:
    """Return the boxes in the order that the page showed, and in the order that is wanted.

    A box that is given a place stands there, before the one that had it; what cannot be read keeps its place.
    """
    seen = [int(one) for one in sent.getlist("seen") if one.isascii() and one.isdigit()]
    keyed = []
    for place, number in enumerate(seen, 1):
        typed = sent.get(f"place-{number}", "").strip()
        wanted = int(typed) if typed.isascii() and typed.isdigit() and len(typed) < 6 else place
        later = wanted > place  # a box sent back stands after the one that has that place, one sent forward before it
        keyed.append(((wanted, 0 if wanted == place else 1 if later else -1, place), number))
    return seen, [number for _key, number in sorted(keyed)]
