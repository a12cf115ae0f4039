"""How long somebody may be at the wheel, and after how long a break is due."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Final

from upsides.rules.lookup import NONE, Overrides, in_force
from upsides.rules.rule import Rule
from upsides.rules.shifts import Shift

TOPIC: Final = "driving hours"
A_DAY: Final = "at the wheel a day"
BREAK: Final = "break"
PARTS: Final = 2


@dataclass(frozen=True, slots=True)
class Driving:
    """What holds for drivers.

    Attributes:
        hours: at the wheel a day, at most; None where no rule says.
        break_minutes, after_hours: a break, and after how long at the wheel; None where no rule says.
        rules: those that say so.
        parts: minutes of the two parts in which a break may be taken, in that order; empty where it may not.
    """

    hours: float | None
    break_minutes: float | None
    after_hours: float | None
    rules: tuple[Rule, ...]
    parts: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class AtTheWheel:
    """A day's time at the wheel.

    Attributes:
        total: all of it.
        longest: the most between two breaks.
        over_day: whether it is more than a day may have.
        over_break: whether a break was due before that.
    """

    total: timedelta
    longest: timedelta
    over_day: bool
    over_break: bool


def driving(jurisdiction: str, on: date, *, overrides: Overrides = NONE) -> Driving:
    """Return what holds for drivers in a place on a day.

    Raises:
        NoRuleError: nothing is in force.
    """
    entries = in_force(TOPIC, jurisdiction, on, overrides)
    first = {kind: next((one for one in entries if one.body["kind"] == kind), None) for kind in (A_DAY, BREAK)}
    day, rest = first[A_DAY], first[BREAK]
    parts = tuple(float(one) for one in rest.body.get("parts", ())) if rest else ()
    return Driving(
        float(day.body["value"]) if day else None,
        float(rest.body["value"]) if rest else None,
        float(rest.body["after_hours"]) if rest else None,
        tuple(one.rule for one in (day, rest) if one),
        parts,
    )


def held_driving(driven: Iterable[Shift], rule: Driving) -> AtTheWheel:
    """Return a day's time at the wheel held against what holds for drivers.

    Time between two stretches counts as a break. What was driven since the last whole break, or since its parts were
    taken one after the other, is held against the hours after which one is due.

    Args:
        driven: stretches at the wheel of one person and one day, in any order; those that overlap count once.
        rule: what holds.
    """
    total, since, longest, first_part = timedelta(), timedelta(), timedelta(), False
    last: datetime | None = None
    for one in sorted(driven, key=lambda each: each.start):
        start = one.start if last is None else max(one.start, last)
        if one.end <= start:
            continue
        rest = timedelta() if last is None else start - last
        whole, first_part = _rested(rest, rule, first_part=first_part)
        since = timedelta() if whole else since
        total, since, last = total + (one.end - start), since + (one.end - start), one.end
        longest = max(longest, since)
    day = None if rule.hours is None else timedelta(hours=rule.hours)
    due = None if rule.after_hours is None else timedelta(hours=rule.after_hours)
    return AtTheWheel(total, longest, day is not None and total > day, due is not None and longest > due)


def _rested(rest: timedelta, rule: Driving, *, first_part: bool) -> tuple[bool, bool]:
    """Return whether a rest makes a whole break, and whether the first part of one has been taken by then."""
    if rule.break_minutes is None:
        return False, False
    if rest >= timedelta(minutes=rule.break_minutes):
        return True, False
    if len(rule.parts) != PARTS:
        return False, False
    first, second = (timedelta(minutes=one) for one in rule.parts)
    if first_part and rest >= second:
        return True, False
    return False, first_part or rest >= first
