"""What the pages of working hours show: the week of all, one person."""

from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby
from typing import Any

from django.conf import settings
from django.http import HttpRequest
from django.utils.translation import gettext as _

from upsides.books.hours import Span, written
from upsides.books.models import Shift
from upsides.books.queries import staff as reads
from upsides.books.queries.moments import Moment
from upsides.books.queries.staff import Worker, monday_of
from upsides.books.queries.visitors import Visitor
from upsides.books.queries.working_limits import Ground, Held, ground, week_held
from upsides.errors import UnreadableError
from upsides.errors.wording import gettext
from upsides.rules import OverLimit, own_rules, place_named
from upsides.web.staff import sentences
from upsides.web.staff.forms import DAYS
from upsides.web.staff.rights import changes, knows_why
from upsides.web.staff.table import WeekTable, week_table

WEEK = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class Pattern:
    """Weekly hours that hold from a day on.

    Args:
        first_day: from.
        last_day: to, None for no end.
        days: for each day on which there are hours its name, the hours, and whether work is ridden.
    """

    first_day: date
    last_day: date | None
    days: tuple[tuple[str, str, bool], ...]


def asked_monday(request: HttpRequest, moment: Moment) -> date:
    """Return the Monday of the week that is asked for by one of its days, else of this week.

    Raises:
        UnreadableError: that is no day.
    """
    text = request.GET.get("monday", "").strip()
    try:
        monday = monday_of(date.fromisoformat(text) if text else moment.day)
        _ends = (monday - timedelta(weeks=60), monday + timedelta(weeks=60))
    except (ValueError, OverflowError):
        raise UnreadableError(gettext("day"), text, "2026-07-27") from None
    return monday


def yard_ground(moment: Moment) -> Ground:
    """Return what the yard's hours are held against."""
    return ground(moment, own_rules(settings.UPSIDES_LIBRARY))


def week_page(who: Visitor, moment: Moment, monday: date) -> dict[str, Any]:
    """Return what a page of the week shows to somebody."""
    why, on = knows_why(who), yard_ground(moment)
    workers = reads.week(moment, monday)
    table = week_table(workers, monday, moment.day, on.zone, why=why)
    return {
        "moment": moment,
        "table": table,
        "workers": workers,
        "monday": monday,
        "before": monday - WEEK,
        "after": monday + WEEK,
        "why": why,
        "changes": changes(who),
        "not_entered": sentences.not_entered(workers),
    } | (limits_shown(week_held(moment, monday, workers, on), workers, on) if why else {})


def limits_shown(held: Held, workers: list[Worker], on: Ground) -> dict[str, Any]:
    """Return the limits that are gone over, person by person, with the sentence above them."""
    names = {worker.number: worker.name for worker in workers}
    return {
        "about_limits": sentences.about_limits(held, names, place_named(on.jurisdiction)),
        "about_ages": sentences.about_ages(len(held.ageless & names.keys())) if held.ruled else "",
        "over": [(number, names[number], in_words(held.over[number])) for number in names if number in held.over],
    }


def in_words(over: tuple[OverLimit, ...]) -> list[tuple[str, str]]:
    """Return each limit that is gone over with its source."""
    return [(sentences.over_in_words(one), sentences.source_in_words(one)) for one in over]


def patterns(rows: list[Shift]) -> list[Pattern]:
    """Return weekly hours row by row as patterns, each from a day on, in order."""

    def stretch(row: Shift) -> tuple[date, date]:
        return row.first_day, row.last_day or date.max

    found = []
    for (first, last), group in groupby(sorted(rows, key=stretch), key=stretch):
        week = week_of(list(group))
        days = tuple(
            (str(DAYS[day][1]), written(spans), any(span.rides for span in spans))
            for day, spans in sorted(week.items())
        )
        found.append(Pattern(first, None if last == date.max else last, days))
    return found


def week_of(rows: list[Shift]) -> dict[int, tuple[Span, ...]]:
    """Return the hours of some rows by day of the week."""
    week: dict[int, tuple[Span, ...]] = {}
    for row in sorted(rows, key=lambda row: (row.weekday, row.starts)):
        week[row.weekday] = (*week.get(row.weekday, ()), Span(row.starts, row.ends, row.rides))
    return week


def usual(rows: list[Shift], day: date) -> dict[int, tuple[Span, ...]]:
    """Return the hours by day of the week that hold on a day."""
    return week_of([row for row in rows if row.first_day <= day and (row.last_day is None or day <= row.last_day)])


def usual_in_words(rows: list[Shift], day: date) -> str:
    """Return what somebody works in a week as it is usual on a day."""
    week = usual(rows, day)
    hours = sum(_clock_hours(span) for spans in week.values() for span in spans)
    return sentences.about_hours(hours, sum(any(span.rides for span in spans) for spans in week.values()))


def own_hours(number: int, moment: Moment, *, private: bool) -> dict[str, Any]:
    """Return somebody's own hours and days off; `private` is whether the page is read by that person alone."""
    on, monday = yard_ground(moment), monday_of(moment.day)
    workers = reads.through(moment, [monday + timedelta(days=n) for n in range(14)], number)
    if not workers:
        return {}
    rows = list(reads.hours_of(moment, moment.day, number))
    held = week_held(moment, monday, workers, on) if private else Held(ruled=True, over={}, ageless=frozenset())
    return {
        "usual": usual_in_words(rows, moment.day),
        "weeks": [_week_table(workers[0], start, moment.day, on, private=private) for start in (0, 7)],
        "days_off": [
            (sentences.days_in_words(row), row.get_why_display() if private else _("off"))
            for row in reads.days_off(moment, moment.day, number=number)
        ],
        "own_over": in_words(held.over.get(number, ())),
    }


def _week_table(worker: Worker, start: int, today: date, on: Ground, *, private: bool) -> WeekTable:
    days = worker.days[start : start + 7]
    one = Worker(worker.number, worker.name, worker.roles, worker.barn, worker.known, days)
    return week_table([one], days[0].day, today, on.zone, why=private)


def _clock_hours(span: Span) -> float:
    return (span.ends.hour - span.starts.hour) + (span.ends.minute - span.starts.minute) / 60
