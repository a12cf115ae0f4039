"""What is filled in about hours, days off and what binds jockeys."""

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms
from django.forms.boundfield import BoundField
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from upsides.books.hours import Span, read_hours, written
from upsides.books.models import Bond, DayOff, Person, Role
from upsides.errors import HoursUnreadableError
from upsides.web.shell.refusals import told

DAYS = (
    ("monday", gettext_lazy("Monday")),
    ("tuesday", gettext_lazy("Tuesday")),
    ("wednesday", gettext_lazy("Wednesday")),
    ("thursday", gettext_lazy("Thursday")),
    ("friday", gettext_lazy("Friday")),
    ("saturday", gettext_lazy("Saturday")),
    ("sunday", gettext_lazy("Sunday")),
)
SAME = {"=", '"', "''", "”"}
"""What stands for the hours of the day before."""

_DAY = {"type": "date"}


class HoursForm(forms.Form):
    """Weekly hours from a day on: for each day the hours as typed, and whether work is ridden in them."""

    first_day = forms.DateField(
        label=gettext_lazy("From"),
        help_text=gettext_lazy("What stood from this day on ends, also a change that was planned for later."),
        widget=forms.DateInput(attrs=_DAY, format="%Y-%m-%d"),
    )
    seen = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, label in DAYS:
            self.fields[name] = forms.CharField(
                label=label, required=False, max_length=120, widget=forms.TextInput(attrs={"autocomplete": "off"})
            )
            self.fields[f"{name}_rides"] = forms.BooleanField(label=gettext_lazy("rides work"), required=False)

    def days(self) -> list[tuple[BoundField, BoundField]]:
        """Return the two fields of each day."""
        return [(self[name], self[f"{name}_rides"]) for name, _label in DAYS]

    def clean(self) -> dict[str, Any]:
        """Read the hours of each day into `week`."""
        data: dict[str, Any] = super().clean() or {}
        week: dict[int, tuple[Span, ...]] = {}
        before = ""
        for number, (name, _label) in enumerate(DAYS):
            text = data.get(name, "").strip()
            typed = before if text in SAME else text
            try:
                week[number] = read_hours(typed, rides=bool(data.get(f"{name}_rides")))
            except HoursUnreadableError as error:
                self.add_error(name, told(error))
            if data.get(f"{name}_rides") and not typed:
                self.add_error(name, _("Write the hours in which work is ridden, or take the tick away."))
            before = typed
        data["week"] = week
        return data


def hours_as_typed(week: Mapping[int, Sequence[Span]]) -> dict[str, Any]:
    """Return what fills the form so that it says these hours."""
    filled: dict[str, Any] = {}
    for number, (name, _label) in enumerate(DAYS):
        spans = week.get(number, ())
        filled |= {name: written(spans), f"{name}_rides": any(span.rides for span in spans)}
    return filled


class DayOffForm(forms.Form):
    """Days on which somebody does not work."""

    why = forms.ChoiceField(label=gettext_lazy("Why"), choices=DayOff.Why.choices)
    first_day = forms.DateField(label=gettext_lazy("First day"), widget=forms.DateInput(attrs=_DAY, format="%Y-%m-%d"))
    last_day = forms.DateField(
        label=gettext_lazy("Last day"),
        required=False,
        help_text=gettext_lazy("Empty for one day."),
        widget=forms.DateInput(attrs=_DAY, format="%Y-%m-%d"),
    )


class BondForm(forms.Form):
    """What binds a jockey."""

    kind = forms.ChoiceField(label=gettext_lazy("What"), choices=Bond.Kind.choices)
    owner = forms.ModelChoiceField(
        label=gettext_lazy("By which owner"),
        queryset=Person.objects.none(),
        required=False,
        empty_label=gettext_lazy("none"),
        help_text=gettext_lazy("For a retainer."),
    )
    country = forms.CharField(
        label=gettext_lazy("Country"),
        max_length=10,
        required=False,
        help_text=gettext_lazy("Like Britain, GB or IRE; empty where it holds everywhere."),
    )
    first_day = forms.DateField(label=gettext_lazy("First day"), widget=forms.DateInput(attrs=_DAY, format="%Y-%m-%d"))
    last_day = forms.DateField(
        label=gettext_lazy("Last day"),
        required=False,
        help_text=gettext_lazy("Empty for a retainer without an end."),
        widget=forms.DateInput(attrs=_DAY, format="%Y-%m-%d"),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.auto_id = "bond_%s"  # it stands beside another form with the same fields
        owners = Person.objects.filter(posts__role=Role.OWNER, erased_at=None).order_by("name")
        self.fields["owner"].queryset = owners  # type: ignore[attr-defined]
