"""Shifts of work, and the real hours in them: by day, at night, and free between them.

Days are calendar days in the zone of the shifts; a night on which the clocks change counts as long as it was.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from upsides.errors import UnreadableError
from upsides.errors.wording import gettext as _
from upsides.rules.book_words import Limit
from upsides.rules.rule import Rule


@dataclass(frozen=True, slots=True)
class Shift:
    """One stretch of work.

    Attributes:
        start, end: moments with the yard's zone.
        break_minutes: minutes of it that are break, and no work.
    """

    start: datetime
    end: datetime
    break_minutes: int = 0

    def __post_init__(self) -> None:
        if self.start.tzinfo is None or self.end.tzinfo is None:
            raise UnreadableError(
                "shift", _("{start} to {end}", start=self.start, end=self.end), _("moments with a zone")
            )
        if hours_between(self.start, self.end) * 60 <= self.break_minutes or self.break_minutes < 0:
            raise UnreadableError(
                "shift",
                _("{start} to {end}", start=self.start, end=self.end),
                _("an end after the start and its breaks"),
            )


@dataclass(frozen=True, slots=True)
class OverLimit:
    """One limit that the plan goes over.

    Attributes:
        limit: which.
        first, last: the days that it concerns.
        value: what the plan has, hours (minutes for a break; years of age for school age).
        allowed: at most that much, or at least where the limit is a rest or a break.
        rule: the rule, None for school age.
    """

    limit: Limit
    first: date
    last: date
    value: float
    allowed: float
    rule: Rule | None

    def __str__(self) -> str:
        days = f"{self.first}" if self.first == self.last else f"{self.first} to {self.last}"
        if self.limit is Limit.SCHOOL_AGE:
            return f"{days}: {self.value:g} years old; the rules for children are not kept here"
        if self.limit in {Limit.DAILY_REST, Limit.WEEKLY_REST, Limit.BREAK}:
            return f"{days}: {self.limit} {self.value:g}, at least {self.allowed:g} is asked for ({self.rule})"
        return f"{days}: {self.limit} {self.value:g}, at most {self.allowed:g} ({self.rule})"


def hours_worked(plan: Sequence[Shift], day: date) -> float:
    """Return the hours worked on a calendar day; breaks come off the day on which the shift begins."""
    zone = plan[0].start.tzinfo
    begin, end = (datetime.combine(day + timedelta(days=n), time(), zone) for n in (0, 1))
    breaks = sum(shift.break_minutes for shift in plan if shift.start.date() == day) / 60
    return max(sum(overlap(shift, begin, end) for shift in plan) - breaks, 0.0)


def hours_at_night(plan: Sequence[Shift], day: date, since: int, until: int) -> float:
    """Return the hours of work on a calendar day before `until` o'clock and from `since` o'clock on."""
    zone = plan[0].start.tzinfo
    edges = [datetime.combine(day, time(hour), zone) for hour in (0, until, since)]
    midnight = datetime.combine(day + timedelta(days=1), time(), zone)
    return sum(overlap(shift, edges[0], edges[1]) + overlap(shift, edges[2], midnight) for shift in plan)


def longest_rest(plan: Sequence[Shift], begin: datetime, end: datetime) -> float:
    """Return the longest stretch in hours between two moments in which there is no shift."""
    longest, free_from = 0.0, begin
    for shift in plan:
        if shift.end > begin and shift.start < end:
            longest, free_from = max(longest, hours_between(free_from, shift.start)), max(free_from, shift.end)
    return max(longest, hours_between(free_from, end))


def overlap(shift: Shift, begin: datetime, end: datetime) -> float:
    """Return the hours of a shift that lie between two moments."""
    return max(hours_between(max(shift.start, begin), min(shift.end, end)), 0.0)


def hours_between(start: datetime, end: datetime) -> float:
    """Return the real hours from one moment to another, negative when it lies before."""
    return (end.astimezone(UTC) - start.astimezone(UTC)).total_seconds() / 3600
