"""How hot it is for a horse: typed readings, what authorities say of them, and how a horse is cooled."""

from typing import Any, Final

from django import forms
from django.conf import settings
from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from upsides.books.queries.moments import Moment
from upsides.books.queries.yard_rules import yard_rules
from upsides.recordings.heat import wet_bulb_globe, wet_bulb_globe_estimate
from upsides.rules import HEAT_CAUTION, HeatStep, heat_steps
from upsides.web.recordings.measures import decimal
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of

_NUMBER: Final = {"inputmode": "decimal", "autocomplete": "off"}


def _degrees(label: Any, hint: Any = "") -> forms.FloatField:
    return forms.FloatField(
        label=label, help_text=hint, required=False, min_value=-30, max_value=90, localize=True,
        widget=forms.TextInput(attrs=_NUMBER),
    )  # fmt: skip


class HeatForm(forms.Form):
    """A reading: air and moisture, or the two thermometers."""

    air = _degrees(gettext_lazy("Air in the shade, °C"))
    humidity = forms.FloatField(
        label=gettext_lazy("Humidity, in 100"), required=False, min_value=0, max_value=100, localize=True,
        widget=forms.TextInput(attrs=_NUMBER),
    )  # fmt: skip
    wet = _degrees(gettext_lazy("Wet bulb, °C"), gettext_lazy("In the open, its wick wet and the wind at it."))
    globe = _degrees(gettext_lazy("Black globe, °C"))

    def clean(self) -> dict[str, Any]:
        """Ask for the other one of a pair."""
        given = super().clean() or {}
        for one, other in (("air", "humidity"), ("humidity", "air"), ("wet", "globe"), ("globe", "wet")):
            alone = given.get(one) is not None and given.get(other) is None
            if alone and other not in self.errors and not (one == "air" and given.get("wet") is not None):
                self.add_error(other, _("Write this one too."))
        return given


def heat(request: VisitedRequest) -> HttpResponse:
    """Show what a reading means, and how a horse is cooled."""
    moment = moment_of(request)
    asked = any(request.GET.get(name) for name in HeatForm.base_fields)
    form = HeatForm(request.GET if asked else None)
    page = _told(form.cleaned_data, moment) if asked and form.is_valid() else {"sentence": _ask()}
    return render(request, "recordings/heat.html", page | {"form": form, "moment": moment, "cautions": HEAT_CAUTION})


def _ask() -> str:
    return _("Type what the thermometers say, and every authority's step stands beside it.")


def _told(given: dict[str, Any], moment: Moment) -> dict[str, Any]:
    by_globe = given["wet"] is not None and given["globe"] is not None
    if not by_globe and (given["air"] is None or given["humidity"] is None):
        return {"sentence": _ask()}
    if by_globe:
        value = float(wet_bulb_globe(given["wet"], given["globe"]))
        how = _("0.7 of the wet bulb and 0.3 of the globe.")
    else:
        value = float(wet_bulb_globe_estimate(given["air"], given["humidity"]))
        how = _(
            "Estimated from air and moisture for moderate sun and a light wind: "
            "in full sun and still air it is hotter than that."
        )
    steps = heat_steps(value, given["air"], moment.day, overrides=yard_rules(settings.UPSIDES_LIBRARY).overrides)
    reached = sum(step.reached for step in steps)
    told = {"value": decimal(value), "reached": reached, "all": len(steps)}
    words = _("%(value)s °C by wet bulb globe: %(reached)s of %(all)s published steps are reached.")
    if not reached:
        words = _(
            "%(value)s °C by wet bulb globe: none of the %(all)s published steps is reached. "
            "A horse can overheat below all of them."
        )
    return {"sentence": words % told, "how": how, "steps": [_step(step) for step in steps]}


def _step(step: HeatStep) -> dict[str, Any]:
    told = {"value": _plain(step.from_c), "other": _plain(step.or_wet_bulb_globe or 0.0)}
    shade = (
        _("%(value)s °C in the shade")
        if step.or_wet_bulb_globe is None
        else _("%(value)s °C in the shade, or %(other)s by wet bulb globe")
    )
    at = shade if step.reading == "shade" else _("%(value)s °C by wet bulb globe")
    return {"step": step, "at": at % told, "state": _("reached") if step.reached else _("not reached")}


def _plain(degrees: float) -> str:
    return decimal(degrees, 0 if degrees == round(degrees) else 1)
