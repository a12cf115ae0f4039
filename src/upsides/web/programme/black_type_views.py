"""What black type is worth: the trainer's own number, with what was said before."""

from typing import Any

from django import forms
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from upsides.books.queries.black_type import BUILDS, Worth, black_type_history, black_type_said
from upsides.books.queries.moments import Moment
from upsides.books.services.black_type import MOST, say_black_type
from upsides.errors import FigureRefusedError
from upsides.placing import Money
from upsides.web.programme.words import money
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.shell.refusals import told

NAMES = {
    "female": gettext_lazy("A filly or mare"),
    "entire": gettext_lazy("A colt or horse"),
    "gelding": gettext_lazy("A gelding"),
}


class BlackTypeForm(forms.Form):
    """A currency, and what a place among the first three is worth for each build."""

    currency = forms.CharField(
        label=gettext_lazy("Currency of the prizes"),
        max_length=3,
        help_text=gettext_lazy("Its three letters, like GBP. Other currencies stay as they are."),
        error_messages={"required": gettext_lazy("Write the currency.")},
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for build in BUILDS:
            widget = forms.NumberInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
            self.fields[build] = forms.FloatField(
                label=NAMES[build], required=False, min_value=0, max_value=MOST, widget=widget
            )


def black_type(request: VisitedRequest) -> HttpResponse:
    """Show what black type is worth to the trainer, and let it be said anew."""
    moment = moment_of(request)
    said = black_type_said(moment)
    currency = request.GET.get("currency", "")[:3] or next(iter(said), "")
    form = BlackTypeForm(request.POST or None, initial={"currency": currency, **said.get(currency, {})})
    if form.is_valid():
        try:
            worth = {build: form.cleaned_data[build] for build in BUILDS}
            say_black_type(form.cleaned_data["currency"], worth, request.visitor.person)
        except FigureRefusedError as error:
            form.add_error(None, told(error))
        else:
            return redirect("black_type")
    return render(request, "programme/black_type.html", _page(moment, said) | {"form": form})


def _page(moment: Moment, said: Worth) -> dict[str, Any]:
    return {
        "moment": moment,
        "plans": True,
        "sentence": _about(said),
        "lines": _lines(said),
        "history": [
            (one.at, one.by, "; ".join(_lines(one.worth)) or _("nothing")) for one in black_type_history(moment)
        ],
    }


def _about(said: Worth) -> str:
    if not said:
        return _("Nothing is said of what black type is worth, so it counts for nothing unless rules.toml says it.")
    return _("What a place among the first three of a group or listed race is worth beside its prize, by your word:")


def _lines(said: Worth) -> list[str]:
    """Return what was said, a sentence a currency."""
    return [
        ", ".join(f"{NAMES[build]} {money(Money(worth.get(build, 0.0), currency))}" for build in BUILDS)
        for currency, worth in sorted(said.items())
    ]
