"""What tomorrow's list shows: every horse by barn, in the order in which the boxes are walked."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Any, Final

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides.books import morning_words as say
from upsides.books.models import Horse, Person
from upsides.books.queries import moments
from upsides.books.queries.boxes import Stood, boxes, by_barn
from upsides.books.queries.lots import Against
from upsides.books.queries.moments import Moment
from upsides.books.queries.morning import away_on, lots_of
from upsides.books.queries.string_plan import planned_orders
from upsides.books.queries.visitors import Open
from upsides.web.morning.pages import Line, before_of, line_of, names_of
from upsides.web.shell.moments import asked_day

OF_RIDERS: Final = frozenset(
    {
        Against.RIDER_AWAY,
        Against.RIDER_TWICE,
        Against.NO_RIDER,
        Against.SKILL,
        Against.WEIGHT,
        Against.NOT_BY,
        Against.PARTNER,
    }
)
"""What stands in the way of an order that a plan of lots may find a way round."""
FEW: Final = 12
"""Of so few horses every barn stands open on a phone."""


@dataclass(frozen=True, slots=True)
class Row:
    """One horse of the list: where it stands, its order as a line, None for none yet, and what is planned."""

    horse: Horse
    stood: Stood | None
    line: Line | None
    plan: str


@dataclass(frozen=True, slots=True)
class Barn:
    """The horses of one barn; `open` is whether it stands open on a phone."""

    title: str
    rows: tuple[Row, ...]
    summary: str
    open: bool


def evening_page(moment: Moment, asked: Mapping[str, str], plans: Open) -> dict[str, Any]:
    """Return tomorrow's list, or another day's: every horse in walking order, and what changed since the day before.

    Args:
        moment: when to look from.
        asked: what the address asks for.
        plans: the horses beside whose orders the plan may be told.
    """
    day = asked_day(asked.get("day", ""), moment, moment.day + timedelta(days=1))
    away = away_on(moment, day)
    found = lots_of(moment, day, away)
    rides = {ride.horse.pk: ride for lot in found for ride in lot.rides}
    string = list(moments.in_training(Moment(day, moment.at)))
    places = boxes(Moment(day, moment.at))
    before = before_of(moment, day)
    known = names_of(moment, before)
    planned = {number: one for number, one in planned_orders(moment, day).items() if number in plans} if plans else {}

    def row(horse: Horse) -> Row:
        ride = rides.get(horse.pk)
        words = say.planned_words(planned.get(horse.pk), ride.order if ride else None)
        return Row(horse, places.get(horse.pk), line_of(ride, before, known) if ride else None, words)

    barns = [_barn(barn, [row(horse) for horse in horses], few=len(string) <= FEW)
             for barn, horses in by_barn(string, places).items()]  # fmt: skip
    past = day < moment.day
    against = [] if past else [one.line for barn in barns for one in barn.rows if one.line and one.line.against]
    return {
        "moment": moment,
        "day": day,
        "title": _("Tomorrow's list") if day == moment.day + timedelta(days=1) else _("The list"),
        "barns": barns,
        "planned": len(planned),
        "missing": 0 if past else len(string) - len(rides),
        "changes": not past and moment.at is None,
        "sentence": say.about_list(day, len(rides), len(string)),
        "against": against,
        "lots_help": sum(not OF_RIDERS.isdisjoint(line.ride.against) for line in against),
        "off": sorted(moments.names(Person, moment, away).values()),
    }


def _barn(title: str, rows: list[Row], *, few: bool) -> Barn:
    return Barn(title or _("Without a box"), tuple(rows), _summary(rows), few)


def _summary(rows: list[Row]) -> str:
    """Return how many horses stand there, how many are not ordered yet, how many do something else than before."""
    told = [ngettext("%(count)s horse", "%(count)s horses", len(rows)) % {"count": len(rows)}]
    if missing := sum(one.line is None for one in rows):
        told.append(_("%(count)s not ordered yet") % {"count": missing})
    if changed := sum(one.line is not None and bool(one.line.changed) for one in rows):
        told.append(_("%(count)s otherwise than the day before") % {"count": changed})
    if against := sum(one.line is not None and bool(one.line.against) for one in rows):
        told.append(_("%(count)s with something in the way") % {"count": against})
    return ", ".join(told)
