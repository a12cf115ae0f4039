"""Where planned shifts go over the limits of work, or leave less rest than the rules ask for, by age.

Weeks begin on Monday. Rests are looked for between the shifts given: a plan with gaps in it looks restful. What an
authority allows beyond this (exceptions, rest given instead) stands in the rules' notes and is not looked at.
"""

from collections.abc import Iterable, Sequence
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from typing import Final

from upsides.errors import UnreadableError
from upsides.errors.wording import gettext as _
from upsides.rules.book_words import Limit
from upsides.rules.lookup import NONE, Overrides, in_force, unhidden
from upsides.rules.rule import Entry
from upsides.rules.shifts import OverLimit, Shift, hours_at_night, hours_between, hours_worked, longest_rest

TOPIC: Final = "working time"
GROWN: Final = 18
SCHOOL: Final = 16
"""Age below which children's rules hold, which are not kept here."""


def check_shifts(
    shifts: Iterable[Shift],
    born: date,
    jurisdiction: str,
    *,
    opted_out: bool = False,
    late: bool = False,
    overrides: Overrides = NONE,
) -> tuple[OverLimit, ...]:
    """Return every limit that a person's planned shifts go over, by day.

    The rules and the age on the first day of a week hold for the week.

    Args:
        shifts: all shifts of one person, in any order, not overlapping.
        born: day of birth.
        jurisdiction: a name or country code.
        opted_out: whether an adult has agreed to more than the average week.
        late: whether a young person's contract asks for work after 10 p.m., which moves the night by an hour.
        overrides: the yard's own rules.

    Raises:
        NoRuleError: nothing is in force there.
        UnreadableError: two shifts overlap.
    """
    plan = sorted(shifts, key=lambda shift: shift.start)
    for one, other in pairwise(plan):
        if other.start < one.end:
            raise UnreadableError(
                "shifts",
                _("{start} to {end} and {other}", start=one.start, end=one.end, other=other.start),
                _("shifts that do not overlap"),
            )
    found: list[OverLimit] = []
    weeks = sorted({_monday(moment.date()) for shift in plan for moment in (shift.start, shift.end)})
    for monday in weeks:
        limits = _limits(monday, born, jurisdiction, overrides)
        found += _week(monday, plan, limits, born, late=late)
        if not opted_out and Limit.AVERAGE in limits:
            found += _average(monday, weeks, plan, limits[Limit.AVERAGE])
    return tuple(sorted(found, key=lambda over: (over.first, over.limit)))


def age_on(born: date, on: date) -> int:
    """Return the age in years; who was born on 29 February turns a year older on 1 March in other years."""
    return on.year - born.year - ((on.month, on.day) < (born.month, born.day))


def _limits(monday: date, born: date, jurisdiction: str, overrides: Overrides) -> dict[Limit, Entry]:
    of = "young" if age_on(born, monday) < GROWN else "adult"
    entries = in_force(TOPIC, jurisdiction, monday, overrides, lambda body: body["of"] == of)
    return {Limit(entry.body["kind"]): entry for entry in reversed(unhidden(entries, ("kind",)))}


def _week(
    monday: date, plan: Sequence[Shift], limits: dict[Limit, Entry], born: date, *, late: bool
) -> list[OverLimit]:
    sunday = monday + timedelta(days=6)
    days = [monday + timedelta(days=n) for n in range(7)]
    worked = {day: hours_worked(plan, day) for day in days}
    found: list[OverLimit] = []
    if age_on(born, monday) < SCHOOL:
        found.append(OverLimit(Limit.SCHOOL_AGE, monday, sunday, age_on(born, monday), SCHOOL, None))
    for limit, entry in limits.items():
        match limit:
            case Limit.DAY:
                found += [_over(entry, day, day, hours) for day, hours in worked.items()]
            case Limit.WEEK:
                found.append(_over(entry, monday, sunday, sum(worked.values())))
            case Limit.DAILY_REST:
                found += _daily_rests(entry, [shift for shift in plan if shift.start.date() in worked], plan)
            case Limit.WEEKLY_REST:
                found.append(_weekly_rest(entry, monday, plan))
            case Limit.BREAK:
                found += [_break(entry, shift) for shift in plan if shift.start.date() in worked]
            case Limit.NIGHT:
                found += [_over(entry, day, day, _night_work(entry, day, plan, late=late)) for day in days]
    return [over for over in found if _is_over(over)]


def _is_over(over: OverLimit) -> bool:
    if over.limit in {Limit.DAILY_REST, Limit.WEEKLY_REST, Limit.BREAK, Limit.SCHOOL_AGE}:
        return over.value < over.allowed
    return over.value > over.allowed


def _over(entry: Entry, first: date, last: date, value: float) -> OverLimit:
    return OverLimit(Limit(entry.body["kind"]), first, last, round(value, 2), float(entry.body["value"]), entry.rule)


def _average(monday: date, weeks: Sequence[date], plan: Sequence[Shift], entry: Entry) -> list[OverLimit]:
    """Return the average over the rule's weeks up to this one, or over the whole plan at its end where it has fewer."""
    begun = monday - timedelta(weeks=entry.body["weeks"] - 1)
    if begun < weeks[0] and monday != weeks[-1]:
        return []
    begun = max(begun, weeks[0])
    days = [begun + timedelta(days=n) for n in range((monday - begun).days + 7)]
    over = _over(entry, begun, days[-1], sum(hours_worked(plan, day) for day in days) * 7 / len(days))
    return [over] if _is_over(over) else []


def _daily_rests(entry: Entry, starts: Sequence[Shift], plan: Sequence[Shift]) -> list[OverLimit]:
    rests: dict[date, float] = {}
    for shift in starts:
        day = shift.start.date()
        rests[day] = min(rests.get(day, 24.0), longest_rest(plan, shift.start, _a_day_on(shift.start)))
    return [_over(entry, day, day, rest) for day, rest in rests.items()]


def _weekly_rest(entry: Entry, monday: date, plan: Sequence[Shift]) -> OverLimit:
    zone = plan[0].start.tzinfo
    start, end = (datetime.combine(monday + timedelta(days=n), time(), zone) for n in (0, 7))
    return _over(entry, monday, monday + timedelta(days=6), longest_rest(plan, start, end))


def _break(entry: Entry, shift: Shift) -> OverLimit:
    long = hours_between(shift.start, shift.end) > entry.body["after_hours"]
    day = shift.start.date()
    return _over(entry, day, day, shift.break_minutes if long else entry.body["value"])


def _night_work(entry: Entry, day: date, plan: Sequence[Shift], *, late: bool) -> float:
    since, until = (entry.body["late_from" if late else "from"], entry.body["late_to" if late else "to"])
    return hours_at_night(plan, day, since, until)


def _a_day_on(moment: datetime) -> datetime:
    return (moment.astimezone(UTC) + timedelta(hours=24)).astimezone(moment.tzinfo)


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())
