"""Values of a morning in words, for templates."""

from collections.abc import Mapping
from datetime import datetime

from django import template
from django.utils.formats import date_format

from upsides.books.queries.boxes import Stood
from upsides.books.queries.due import Due
from upsides.books.queries.moments import Moment

register = template.Library()


@register.filter
def box(places: Mapping[int, Stood], horse: int) -> str:
    """Return barn and box of a horse, empty for none."""
    return places[horse].called if horse in places else ""


@register.filter
def clock(when: datetime) -> str:
    """Return a time of day as 14:35."""
    return f"{when:%H:%M}"


@register.filter
def since(when: datetime, moment: Moment) -> str:
    """Return when something was so: its time, with the day where that is another one."""
    return clock(when) if when.date() == moment.day else date_format(when, "j F, H:i")


@register.filter
def late(one: Due, moment: Moment) -> bool:
    """Return whether something should have been done before the page's day."""
    return one.overdue(moment.day)
