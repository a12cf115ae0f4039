"""Counting days, hours and calendar months, each way that rules count them."""

from calendar import monthrange
from datetime import date, timedelta
from enum import StrEnum


class Counting(StrEnum):
    """How a rule's N after a day D is counted.

    FREE leaves N days free (first day D + N + 1); INCLUDED has D as day 1 of N (first day D + N); OPEN is a text that
    can be read both ways, and the later is taken; HOURS run from the moment; NONE is a limit without a count.
    """

    FREE = "free"
    INCLUDED = "included"
    OPEN = "open"
    HOURS = "hours"
    NONE = "none"


def add_months(day: date, months: int) -> date:
    """Return the day of the same number that many calendar months later.

    Where that month is too short it is the month's last day: six months after 31 August are 28 February, or 29
    February in a leap year. So 1 January and nine months is 1 October (British Horseracing Authority, 2019).
    """
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def later(day: date, count: int, unit: str) -> date:
    """Return the day that lies `count` days or calendar months after `day`.

    Raises:
        ValueError: the unit is neither "days" nor "months".
    """
    if unit == "months":
        return add_months(day, count)
    if unit == "days":
        return day + timedelta(days=count)
    raise ValueError(f"unit {unit!r} is neither days nor months")


def first_day(day: date, count: int, unit: str, counting: Counting) -> date | None:
    """Return the first day on which the horse may, after something on `day`; None where the rule has no count.

    Hours are counted from the end of the day, since the moment is not known here.

    Raises:
        ValueError: the unit is not one that the way of counting has.
    """
    if counting is Counting.NONE:
        return None
    if counting is Counting.HOURS:
        return day + timedelta(days=1 + -(-count // 24))
    return later(day, count, unit) + timedelta(days=0 if counting is Counting.INCLUDED else 1)
