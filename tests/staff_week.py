"""A week of the staff: people, the hours of days, and what the books have of one."""

from datetime import date
from zoneinfo import ZoneInfo

from upsides.books.hours import Span, read_hours
from upsides.books.models import Person
from upsides.books.queries import moments
from upsides.books.queries.staff import WorkDay, at_work

LONDON = ZoneInfo("Europe/London")
MONDAY = date(2026, 3, 23)
"""The Monday of the week in which the clocks go forward in Britain, on Sunday 29 March 2026 at one o'clock."""
MORNING = read_hours("6-9:30, 10-12:30", rides=True)


def someone(login: str) -> Person:
    return Person.objects.get(login=login)


def all_week(hours: str, days: int = 5, *, rides: bool = False) -> dict[int, tuple[Span, ...]]:
    """Return the same hours on the first days of the week."""
    return {day: read_hours(hours, rides=rides) for day in range(days)}


def day_of(login: str, day: date) -> WorkDay:
    """Return somebody's day as the books have it now."""
    number = someone(login).pk
    return next(one.days[0] for one in at_work(moments.now(), day) if one.number == number)
