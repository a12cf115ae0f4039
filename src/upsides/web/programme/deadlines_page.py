"""What has to be said of races, ready for its template."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from upsides.books import clock
from upsides.books.models import CalendarAddress, Inside
from upsides.books.queries.barred import Barred, barred, to_say
from upsides.books.queries.engaged import Engaged, engaged
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import Visitor, opened
from upsides.books.race_words import follows
from upsides.books.services.sights import saw
from upsides.web.programme.reasons import reason
from upsides.web.programme.sentences import about_deadlines
from upsides.web.programme.words import STAGES, at_course, day, money, sums, titled

SOON: Final = 48


def deadlines_page(folder: Path, who: Visitor, moment: Moment, path: str) -> dict[str, Any]:
    """Return what has to be said, soonest first; that plans were shown is written down."""
    saw(who, Inside.PLANS, path)
    at, zone, open_to = moment.at or clock.now(), clock.place().zone.key, opened(who, Inside.PLANS)
    found = [one for one in engaged(folder, moment) if one.horse.pk in open_to]
    kept = barred(folder, moment, found)
    due, out = to_say(found, kept, at)
    soon, _out = to_say(found, kept, at, SOON)
    declared = [one for one in found if one.engagement.state == "declared" and one not in out]
    silent = [one for one in found if one.next is None and one.engagement.state not in {"withdrawn", "declared"}]
    return {
        "moment": moment,
        "plans": True,
        "sentence": about_deadlines(due, SOON, zone, len(out)),
        "out": [row_of(one, zone, kept) for one in out],
        "soon": [row_of(one, zone, kept) for one in soon],
        "later": [row_of(one, zone, kept) for one in due if one not in soon],
        "declared": [row_of(one, zone, kept) for one in declared],
        "silent": [row_of(one, zone, kept) for one in silent],
        "calendars": CalendarAddress.objects.filter(person=who.person, ended_at=None),
        "zone": zone,
    }


def row_of(one: Engaged, zone: str, kept: Mapping[int, Barred]) -> dict[str, Any]:
    """Return an engagement as a list shows it, with what by now keeps the horse out of the race."""
    due, found = one.due, kept.get(one.engagement.pk)
    return {
        "horse": one.horse,
        "code": one.engagement.race_code if one.known else "",
        "title": titled(one.race),
        "course": one.race.course,
        "day": day(one.race.day),
        "state": one.engagement.get_state_display(),
        "what": str(STAGES[due.stage]) if due else "",
        "by": at_course(due, zone) if due else "",
        "cost": money(due.cost) if due and due.cost else "",
        "spent": sums(one.spent) if one.spent else "",
        "declare": [str(fact.get_what_display()) for fact in one.to_declare],
        "ride": _rider(one),
        "against": [reason(each) for each in found.against] if found else [],
        "follows": follows(one, found, zone) if found else [],
    }


def _rider(one: Engaged) -> str:
    booked = one.ride
    if booked is None:
        return ""
    return booked.rider.name if booked.rider else booked.jockey
