"""Reads of who works when: at work on a day, through a week, and who rides."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Q

from upsides.books.hours import Span
from upsides.books.models import Bond, DayOff, Person, Post, Role, Shift
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment
from upsides.books.queries.remembered import remembered
from upsides.books.queries.visitors import STAFF
from upsides.rules.shifts import hours_between

WORKING = STAFF - {Role.VET}
"""Roles of those who work in the yard."""

RANK = {why: place for place, why in enumerate((DayOff.Why.SICK, DayOff.Why.COURSE, DayOff.Why.HOLIDAY, ""))}
"""Which of two kinds of days off is told where both stand."""


@dataclass(frozen=True, slots=True)
class WorkDay:
    """One person's day.

    Args:
        day: which.
        spans: the hours worked, in order; none on a free day or a day off.
        away: why the person is off, a value of `DayOff.Why`; empty for nobody who is.
        away_until: the last of the days off.
    """

    day: date
    spans: tuple[Span, ...] = ()
    away: str = ""
    away_until: date | None = None

    @property
    def rides(self) -> bool:
        """Return whether the person rides work on the day."""
        return any(span.rides for span in self.spans)

    def hours(self, zone: ZoneInfo) -> float:
        """Return the hours worked, as long as they really are where the clocks change."""
        return sum(max(hours_between(*moments_of(self.day, span, zone)), 0.0) for span in self.spans)


@dataclass(frozen=True, slots=True)
class Worker:
    """Somebody who works in the yard, on the days asked for.

    Args:
        number: of the person.
        name: the name.
        roles: what for, in the order of the trade.
        barn: barn worked in, empty for none.
        known: whether any hours are entered that hold on one of the days or later.
        days: a day each.
    """

    number: int
    name: str
    roles: tuple[Role, ...]
    barn: str
    known: bool
    days: tuple[WorkDay, ...]


@dataclass(frozen=True, slots=True)
class Rider:
    """Somebody who rides work on a day.

    Args:
        number: of the person.
        name: the name.
        weight_kg: weight as last said, kg; None where it was not.
        skill: what the person rides, a value of `Skill`.
        spans: the hours in which work is ridden.
    """

    number: int
    name: str
    weight_kg: float | None
    skill: int
    spans: tuple[Span, ...]


def at_work(moment: Moment, day: date) -> list[Worker]:
    """Return those who work in the yard with their one day, by name: hours, rides, away and why."""
    tables = (Shift, DayOff, Post, Person)
    return remembered("at work", moment, (), tables, lambda: through(moment, [day]), day)


def week(moment: Moment, monday: date) -> list[Worker]:
    """Return those who work in the yard with the seven days from a Monday on, by name; four reads."""
    return through(moment, [monday + timedelta(days=n) for n in range(7)])


def through(moment: Moment, days: Sequence[date], number: int | None = None) -> list[Worker]:
    """Return those who work in the yard, or one of them, on some days in order.

    Who has left (a closed sign-in) is there as long as hours hold; who was erased since then is not.
    """
    shifts = _by_person(hours_of(moment, days[0], number))
    away = _by_person(days_off(moment, days[0], days[-1], number))
    roles: dict[int, set[Role]] = defaultdict(set)
    for holder, role in moments.rows(Post, moment).values_list("person", "role"):
        roles[holder].add(Role(role))
    here = [one for one, has in roles.items() if has & WORKING]
    rows = _people(moment).filter(Q(id__in=here) | Q(id__in=list(shifts)))
    rows = rows if number is None else rows.filter(id=number)
    return [
        Worker(
            row["id"],
            row["name"],
            tuple(role for role in Role if role in roles[row["id"]]),
            row["barn"],
            row["id"] in shifts,
            tuple(work_day(day, shifts[row["id"]], away[row["id"]]) for day in days),
        )
        for row in _in_order(rows.values("id", "name", "barn", "is_active"))
        if row["is_active"] or row["id"] in shifts
    ]


def riders_on(moment: Moment, day: date) -> list[Rider]:
    """Return those who ride work on a day, by name, with weight and skill; three reads."""
    shifts = _by_person(hours_of(moment, day).filter(rides=True, weekday=day.weekday()))
    away = {row.person_id for row in days_off(moment, day, day)}
    there = {person: work_day(day, rows, []).spans for person, rows in shifts.items() if person not in away}
    rows = _people(moment).filter(id__in=[person for person, spans in there.items() if spans])
    return [
        Rider(row["id"], row["name"], row["weight_kg"], row["skill"], there[row["id"]])
        for row in _in_order(rows.values("id", "name", "weight_kg", "skill"))
    ]


def hours_of(moment: Moment, since: date, number: int | None = None) -> Any:
    """Return the rows of weekly hours that hold on a day or later, of everybody or of one person."""
    rows = moments.rows(Shift, moment).filter(Q(last_day=None) | Q(last_day__gte=since))
    rows = rows if number is None else rows.filter(person=number)
    return rows.order_by("first_day", "weekday", "starts")


def days_off(moment: Moment, first: date, last: date | None = None, number: int | None = None) -> Any:
    """Return the days off that touch a stretch of days, of everybody or of one person; `last` None has no end."""
    rows = moments.rows(DayOff, moment).filter(last_day__gte=first)
    rows = rows if last is None else rows.filter(first_day__lte=last)
    rows = rows if number is None else rows.filter(person=number)
    return rows.order_by("first_day", "id")


def bonds_of(moment: Moment, number: int) -> list[Bond]:
    """Return what binds a jockey on the moment's day or later."""
    rows = moments.rows(Bond, moment).filter(Q(last_day=None) | Q(last_day__gte=moment.day), person=number)
    return list(rows.order_by("first_day", "id"))


def work_day(day: date, shifts: Iterable[Shift], away: Iterable[DayOff]) -> WorkDay:
    """Return a person's day from the rows of weekly hours and of days off."""
    off = [row for row in away if row.first_day <= day <= row.last_day]
    if off:
        told = min(off, key=lambda row: RANK.get(row.why, len(RANK)))
        return WorkDay(day, (), told.why, told.last_day)
    spans = sorted(
        Span(row.starts, row.ends, row.rides)
        for row in shifts
        if row.weekday == day.weekday() and row.first_day <= day and (row.last_day is None or day <= row.last_day)
    )
    return WorkDay(day, tuple(spans))


def moments_of(day: date, span: Span, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """Return when hours begin and end on a day, with the yard's zone."""
    return datetime.combine(day, span.starts, zone), datetime.combine(day, span.ends, zone)


def monday_of(day: date) -> date:
    """Return the Monday of a day's week."""
    return day - timedelta(days=day.weekday())


def _by_person(rows: Iterable[Any]) -> dict[int, list[Any]]:
    found: dict[int, list[Any]] = defaultdict(list)
    for row in rows:
        found[row.person_id].append(row)
    return found


def _people(moment: Moment) -> Any:
    """Return people as they stood, without those who were erased by now."""
    return moments.rows(Person, moment).exclude(id__in=Person.objects.exclude(erased_at=None).values("pk"))


def _in_order(rows: Iterable[Any]) -> list[Any]:
    return sorted(rows, key=lambda row: (row["name"].casefold(), row["id"]))
