"""The programme of a week, ready for its template."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from upsides.books.models import Inside
from upsides.books.queries.moments import Moment
from upsides.books.queries.programme_week import Listed, week_of
from upsides.books.queries.visitors import Visitor, opened
from upsides.books.queries.yard_rules import yard_rules
from upsides.books.services.sights import saw
from upsides.web.programme.asking import monday_asked, weeks_around
from upsides.web.programme.sentences import about_week
from upsides.web.programme.words import at_course, kind, long_day, money, off, titled, trip


def week_page(folder: Path, who: Visitor, moment: Moment, query: Mapping[str, str], path: str) -> dict[str, Any]:
    """Return the programme of the week that is asked for; that plans were shown is written down.

    Raises:
        UnreadableError: what is asked for is no day.
    """
    monday = monday_asked(query, moment)
    open_to = opened(who, Inside.PLANS)
    week = week_of(folder, moment, monday, open_to)
    before, after = weeks_around(monday)
    if open_to and week.races:
        saw(who, Inside.PLANS, path)
    return {
        "moment": moment,
        "week": week,
        "sentence": about_week(week, moment.day),
        "days": [(long_day(day), [_row(one) for one in races]) for day, races in week.days],
        "before": before if week.first and before >= week.first - (monday - before) else None,
        "after": after if week.last and after <= week.last else None,
        "fault": yard_rules(folder).fault,
        "plans": bool(open_to),
    }


def _row(one: Listed) -> dict[str, Any]:
    return {
        "code": one.code,
        "off": off(one.race),
        "title": titled(one.race),
        "course": one.race.course,
        "kind": kind(one.race),
        "trip": trip(one.race),
        "win": money(one.race.prize.win) if one.race.prize and one.race.prize.win else "",
        "may": one.may,
        "unknown": one.unknown,
        "engaged": [(each.horse, each.engagement.get_state_display()) for each in one.engaged],
        "due": at_course(one.due) if one.due else "",
        "unread": one.unread,
        "torn": one.torn,
        "closes": one.closes,
    }
