"""What is filled in about jobs."""

from typing import Any

from django import forms
from django.utils.dates import WEEKDAYS
from django.utils.translation import gettext_lazy as _

from upsides.books.models import Schedule
from upsides.books.services.jobs import change_schedule
from upsides.errors import ScheduleError
from upsides.web.shell.refusals import told


class ScheduleForm(forms.Form):
    """When something is done again and again."""

    at = forms.TimeField(
        label=_("At"),
        help_text=_("On the yard's own clock."),
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
        error_messages={"required": _("Say at what time."), "invalid": _("Write a time like 03:30.")},
    )
    weekdays = forms.MultipleChoiceField(
        label=_("On"),
        choices=[(str(number), name) for number, name in WEEKDAYS.items()],
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    active = forms.BooleanField(label=_("Switched on"), required=False)

    @staticmethod
    def standing(schedule: Schedule) -> dict[str, Any]:
        """Return what the form shows before anything is changed."""
        return {"at": schedule.at, "weekdays": list(schedule.weekdays), "active": schedule.active}

    def clean_weekdays(self) -> str:
        """Return the days as the schedule keeps them."""
        return "".join(sorted(self.cleaned_data["weekdays"]))

    def changed(self, schedule: Schedule) -> bool:
        """Change the schedule; what is refused stands in the form."""
        try:
            change_schedule(schedule, **self.cleaned_data)
        except ScheduleError as error:
            self.add_error(None, told(error))
            return False
        return True
