"""What one rider's list of a morning shows: ordered and done side by side."""

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides.books.diary.work import ORDERERS
from upsides.books.queries.moments import Moment
from upsides.books.queries.morning import away_on, lots_of
from upsides.books.queries.visitors import Visitor
from upsides.web.diary.forms import row_number
from upsides.web.morning.pages import groups
from upsides.web.shell.moments import asked_day


def own_page(who: Visitor, moment: Moment, asked: Mapping[str, str]) -> dict[str, Any]:
    """Return the rides of one rider on a day, the visitor's own where none is named; and who else rides."""
    day = asked_day(asked.get("day", ""), moment)
    rider = row_number(asked.get("rider", "")) or who.person.pk
    found = groups(lots_of(moment, day, away_on(moment, day)))
    lines = [(one, line) for one in found for line in one.lines if line.ride.order.rider == rider]
    names = {line.ride.order.rider: line.ride.rider for one in found for line in one.lines if line.ride.rider}
    name = names.get(rider, who.person.name if rider == who.person.pk else _("This rider"))
    return {
        "moment": moment,
        "day": day,
        "name": name,
        "lines": [(one.lot.number, line) for one, line in lines],
        "others": sorted(
            ((number, other) for number, other in names.items() if number != rider), key=lambda one: one[1]
        ),
        "sentence": _about(name, len(lines), sum(line.ride.done is not None for _, line in lines)),
        "live": day == moment.day,
        "plans": bool(who.roles & ORDERERS) and bool(lines) and day >= moment.day,
        "rider": rider,
    }


def _about(name: str, rides: int, done: int) -> str:
    if not rides:
        return _("%(name)s has no horse on the list.") % {"name": name}
    text = ngettext(
        "%(name)s rides %(count)s horse; %(done)s written as done.",
        "%(name)s rides %(count)s horses; %(done)s written as done.",
        rides,
    )
    return text % {"name": name, "count": rides, "done": done}
