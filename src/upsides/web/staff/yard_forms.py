"""What is filled in about the yard itself."""

from collections.abc import Iterable
from typing import Any

from django import forms
from django.utils.dates import WEEKDAYS
from django.utils.text import capfirst
from django.utils.translation import gettext_lazy as _

from upsides.books.models import Gallop, Thing

_OFF = {"autocomplete": "off"}


class GallopForm(forms.Form):
    """A gallop, or another place of exercise."""

    name = forms.CharField(
        label=_("Name"),
        max_length=60,
        widget=forms.TextInput(attrs=_OFF),
        error_messages={"required": _("A gallop needs a name.")},
    )
    surface = forms.ChoiceField(label=_("Surface"), choices=Gallop.Surface.choices)
    length = forms.CharField(
        label=_("Length"),
        max_length=30,
        required=False,
        help_text=_("As 5f, 1m 2f or 1000 m."),
        widget=forms.TextInput(attrs=_OFF),
    )
    rise = forms.CharField(
        label=_("Rise, m"),
        max_length=12,
        required=False,
        help_text=_("From its start to its end; with a minus where it falls."),
        widget=forms.TextInput(attrs=_OFF),
    )


class ThingForm(forms.Form):
    """A thing that entries name."""

    kind = forms.ChoiceField(label=_("What it is"), choices=Thing.Kind.choices)
    name = forms.CharField(
        label=_("Name"),
        max_length=60,
        help_text=_("As it is called in the yard."),
        widget=forms.TextInput(attrs=_OFF),
        error_messages={"required": _("A thing needs a name.")},
    )


class YardForm(forms.Form):
    """The yard's name and the feeds of its day."""

    name = forms.CharField(
        label=_("Name"),
        max_length=120,
        widget=forms.TextInput(attrs=_OFF),
        error_messages={"required": _("A yard needs a name.")},
    )
    feed_times = forms.CharField(
        label=_("Feeds of a day"),
        help_text=_("One on each line, in order."),
        widget=forms.Textarea(attrs={"rows": 5}),
        error_messages={"required": _("A day has at least one feed.")},
    )


class LimitsForm(forms.Form):
    """What a morning takes: fields fast_0 (Monday) to fast_6, each, and slots_NUMBER of each gallop."""

    def __init__(self, gallops: Iterable[Gallop], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for day, name in WEEKDAYS.items():
            self.fields[f"fast_{day}"] = _most(_("Fast work, %(day)s") % {"day": capfirst(name)})
        self.fields["each"] = _most(_("Horses that one rider rides in a morning"), least=1)
        for gallop in gallops:
            self.fields[f"slots_{gallop.pk}"] = _most(_("Horses of a morning on %(gallop)s") % {"gallop": gallop.name})


def _most(label: Any, least: int = 0) -> forms.IntegerField:
    widget = forms.NumberInput(attrs={"inputmode": "numeric", **_OFF})
    return forms.IntegerField(label=label, required=False, min_value=least, max_value=500, widget=widget)
