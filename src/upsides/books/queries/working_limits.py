"""Where planned hours go over the limits of work that hold in the yard's country, or leave less rest than they ask."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from upsides.books.models import DayOff, Person, Shift, Yard
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment
from upsides.books.queries.staff import Worker, days_off, hours_of, moments_of, monday_of, work_day
from upsides.errors import NoRuleError
from upsides.rules import Limit, OverLimit, Overrides, check_shifts
from upsides.rules import Shift as Stretch
from upsides.rules.lookup import in_force
from upsides.rules.shifts import hours_between
from upsides.rules.working_time import GROWN, TOPIC, age_on

UNKNOWN = date(1900, 1, 1)
"""Stands for a day of birth that nobody entered: such a person is held to the limits of adults."""
ON_THE_ROAD = frozenset({Limit.DAY, Limit.DAILY_REST, Limit.NIGHT, Limit.SCHOOL_AGE})
"""Limits that a journey alone can go over."""
FURTHEST = 26
"""Weeks before the one looked at that an average may reach over."""


@dataclass(frozen=True, slots=True)
class Ground:
    """What hours are held against.

    Args:
        zone: the yard's.
        jurisdiction: the yard's country.
        overrides: the yard's own rules.
    """

    zone: ZoneInfo
    jurisdiction: str
    overrides: Overrides


@dataclass(frozen=True, slots=True)
class Held:
    """A week's hours held against the limits.

    Args:
        ruled: whether any limit is known for the yard's country.
        over: what goes over, by number of the person.
        ageless: numbers of those whose day of birth is not entered; they are held to the limits of adults.
    """

    ruled: bool
    over: dict[int, tuple[OverLimit, ...]]
    ageless: frozenset[int]


def ground(moment: Moment, overrides: Overrides) -> Ground:
    """Return what the yard's hours are held against at a moment."""
    yard = moments.rows(Yard, moment).get()
    return Ground(ZoneInfo(yard.zone), yard.jurisdiction, overrides)


def week_held(moment: Moment, monday: date, workers: Iterable[Worker], on: Ground) -> Held:
    """Hold the week from a Monday on against the limits, for each of some people; two reads and that of births."""
    numbers = [worker.number for worker in workers]
    born = dict(moments.rows(Person, moment).filter(id__in=numbers).values_list("id", "born"))
    since = monday - timedelta(weeks=FURTHEST)
    shifts, off = list(hours_of(moment, since)), list(days_off(moment, since, monday + timedelta(days=7)))
    over: dict[int, tuple[OverLimit, ...]] = {}
    ruled = True
    for number in numbers:
        rows = [row for row in shifts if row.person_id == number]
        away = [row for row in off if row.person_id == number]
        try:
            found = over_limits(rows, away, born.get(number), monday, on)
        except NoRuleError:
            ruled = False
            break
        if found:
            over[number] = found
    return Held(ruled, over, frozenset(number for number in numbers if born.get(number) is None))


def over_limits(
    shifts: Sequence[Shift], off: Sequence[DayOff], born: date | None, monday: date, on: Ground
) -> tuple[OverLimit, ...]:
    """Return what one person's hours go over in the week from a Monday on.

    Args:
        shifts: rows of the person's weekly hours, also of earlier weeks, over which an average reaches.
        off: the person's days off.
        born: day of birth, None where it is not entered.
        monday: first day of the week.
        on: what they are held against.

    Raises:
        NoRuleError: no limit is known for the yard's country.
    """
    sunday = monday + timedelta(days=6)
    plan = planned_stretches(shifts, off, monday - timedelta(days=1), monday + timedelta(days=7), on.zone)
    birth = born or UNKNOWN
    found = check_shifts(plan, birth, on.jurisdiction, opted_out=True, overrides=on.overrides)
    within = tuple(
        one for one in found if one.first <= sunday and one.last >= monday and monday_of(one.first) == monday
    )
    return within + _average(shifts, off, birth, monday, on)


def with_journeys(
    moment: Moment, journeys: Mapping[int, Sequence[Stretch]], on: Ground
) -> dict[int, tuple[OverLimit, ...]]:
    """Return what people who travel go over on the days of their journeys, which count as work with their hours.

    Breaks on the road are written nowhere, so they are not held against anything.

    Args:
        moment: when to look from.
        journeys: stretches away by number of the person.
        on: what they are held against.

    Raises:
        NoRuleError: no limit is known for the yard's country.
    """
    if not journeys:
        return {}
    born = dict(moments.rows(Person, moment).filter(id__in=list(journeys)).values_list("id", "born"))
    days = [stretch.start.date() for away in journeys.values() for stretch in away]
    first, last = min(days) - timedelta(days=1), max(days) + timedelta(days=2)
    shifts, off = list(hours_of(moment, first)), list(days_off(moment, first, last))
    found = {}
    for number, away in journeys.items():
        mine = [row for row in shifts if row.person_id == number]
        plan = planned_stretches(mine, [row for row in off if row.person_id == number], first, last, on.zone)
        held = check_shifts(
            _joined([*plan, *away]), born.get(number) or UNKNOWN, on.jurisdiction, opted_out=True,
            overrides=on.overrides,
        )  # fmt: skip
        on_road = {stretch.start.date() for stretch in away}
        over = tuple(one for one in held if one.limit in ON_THE_ROAD and one.first in on_road)
        if over:
            found[number] = over
    return found


def _joined(stretches: Iterable[Stretch]) -> list[Stretch]:
    """Return stretches of work with those that overlap or touch made one."""
    joined: list[Stretch] = []
    for one in sorted(stretches, key=lambda each: each.start):
        if joined and one.start <= joined[-1].end:
            joined[-1] = Stretch(joined[-1].start, max(joined[-1].end, one.end))
        else:
            joined.append(one)
    return joined


def ruled(on: Ground, day: date) -> bool:
    """Return whether any limit on working hours is known for the yard's country."""
    try:
        return bool(in_force(TOPIC, on.jurisdiction, day, on.overrides))
    except NoRuleError:
        return False


def _average(
    shifts: Sequence[Shift], off: Sequence[DayOff], born: date, monday: date, on: Ground
) -> tuple[OverLimit, ...]:
    """Return the average week where it is over: over the rule's weeks up to this one, or over those there are."""
    of = "young" if age_on(born, monday) < GROWN else "adult"
    rules = in_force(TOPIC, on.jurisdiction, monday, on.overrides, lambda body: body["of"] == of)
    entry = next((entry for entry in rules if entry.body["kind"] == Limit.AVERAGE), None)
    if entry is None or not shifts:
        return ()
    begun = monday - timedelta(weeks=min(entry.body["weeks"], FURTHEST) - 1)
    begun = max(begun, monday_of(min(row.first_day for row in shifts)))
    sunday, allowed = monday + timedelta(days=6), float(entry.body["value"])
    worked = sum(hours_between(one.start, one.end) for one in planned_stretches(shifts, off, begun, sunday, on.zone))
    mean = worked * 7 / ((sunday - begun).days + 1) if begun <= sunday else 0.0
    return (OverLimit(Limit.AVERAGE, begun, sunday, round(mean, 2), allowed, entry.rule),) if mean > allowed else ()


def planned_stretches(
    shifts: Sequence[Shift], off: Sequence[DayOff], first: date, last: date, zone: ZoneInfo
) -> list[Stretch]:
    """Return the stretches of work on some days; hours that a change of the clocks leaves out are none."""
    days = [first + timedelta(days=n) for n in range((last - first).days + 1)]
    ends = [moments_of(day, span, zone) for day in days for span in work_day(day, shifts, off).spans]
    return [Stretch(start, end) for start, end in ends if hours_between(start, end) > 0]
