"""Days and times of day as spreadsheets write them; a time counts in the yard's own zone."""

import re
from datetime import UTC, date, datetime, time, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from upsides.errors import CellRefusedError
from upsides.errors.wording import gettext as _

DAY_FIRST, MONTH_FIRST = "day", "month"
NOON: Final = time(12)
"""When something was so of which a table says the day alone."""
SERIAL: Final = range(20_000, 60_000)
"""Days as spreadsheets count them: October 1954 to April 2064."""
_FROM: Final = date(1899, 12, 30)
_MONTHS: Final = {
    month: number
    for number, month in enumerate(
        ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"), start=1
    )
}
_ISO: Final = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})")
_SHORT: Final = re.compile(r"(\d{1,2})[-/. ](\d{1,2})[-/. ](\d{4}|\d{2})")
_NAMED: Final = re.compile(r"(?:[a-z]{3,9},? )?(\d{1,2})(?:st|nd|rd|th)?[-/. ]*([a-z]{3,9})[-/., ]*(\d{4}|\d{2})")
_NAMED_FIRST: Final = re.compile(r"(?:[a-z]{3,9},? )?([a-z]{3,9})[. ]*(\d{1,2})(?:st|nd|rd|th)?[, ]+(\d{4}|\d{2})")
_CLOCK: Final = re.compile(r"(\d{1,2})[:.h](\d{2})(?:[:.](\d{2}))?(?:\.\d+)? ?(am|pm|a\.m\.|p\.m\.)?")
_HOUR: Final = re.compile(r"(\d{1,2}) ?(am|pm)")
_NUMBER: Final = re.compile(r"\d{5}(?:[.,]\d+)?")
LIKE: Final = _("write it like 2026-03-21 or 21/3/2026")


def day_and_time(text: str, order: str, column: str) -> tuple[date, time | None, ZoneInfo | None]:
    """Return the day that a cell says, the time where it says one, and UTC where it says that.

    Args:
        text: as it stands in the cell.
        order: whether 3/4/2026 has its day or its month first.
        column: its heading.

    Raises:
        CellRefusedError: it is no day.
    """
    plain = " ".join(text.casefold().split())
    if _NUMBER.fullmatch(plain) and int(plain[:5]) in SERIAL:
        return _counted(float(plain.replace(",", ".")))
    if re.match(r"\d{4}-\d\d-\d\d[t ]\d", plain) and (found := _instant(text)):
        return found
    written, _between, clock = plain.partition(" ") if ":" in plain and _starts_with_day(plain) else (plain, "", "")
    if not clock and (split := re.fullmatch(r"(.*\d) (\d{1,2}[:h]\d{2}.*)", plain)):
        written, clock = split[1], split[2]
    day = _day(written, order)
    if day is None:
        raise CellRefusedError(column, text, _("it is no day"), LIKE)
    return day, time_of(clock, column) if clock else None, None


def time_of(text: str, column: str) -> time:
    """Return the time of day that a cell says.

    Raises:
        CellRefusedError: it is none.
    """
    plain = " ".join(text.casefold().split())
    if re.fullmatch(r"0?[.,]\d+|0", plain):
        return _counted(SERIAL[0] + float(plain.replace(",", ".")))[1] or time()
    if re.fullmatch(r"\d{3,4}", plain):
        plain = f"{plain[:-2]}:{plain[-2:]}"
    found = _CLOCK.fullmatch(plain)
    hour = found or _HOUR.fullmatch(plain)
    try:
        if found:
            return time(_hours(int(found[1]), found[4]), int(found[2]), int(found[3] or 0))
        if hour:
            return time(_hours(int(hour[1]), hour[2]))
    except ValueError:
        pass
    raise CellRefusedError(column, text, _("it is no time of day"), _("write it like 07:30"))


def moment(day: date, at: time | None, zone: ZoneInfo, column: str) -> datetime:
    """Return a moment in the yard; noon where only the day is known.

    Raises:
        CellRefusedError: the clocks skipped that time.
    """
    local = datetime.combine(day, at or NOON, zone)
    if local.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != local.replace(tzinfo=None):
        reason = _("the clocks were put forward over that time")
        raise CellRefusedError(column, f"{local:%Y-%m-%d %H:%M}", reason, _("see which hour is meant"))
    return local


def order_of(cells: list[str]) -> str:
    """Return which comes first in days like 3/4/2026: the day, unless only the month can."""
    found = [one for cell in cells if (one := _SHORT.match(" ".join(cell.split())))]
    days = [int(one[1]) for one in found]
    months = [int(one[2]) for one in found]
    month_first = bool(found) and max(months) > 12 and max(days) <= 12
    return MONTH_FIRST if month_first else DAY_FIRST


def _starts_with_day(plain: str) -> bool:
    return bool(re.match(r"\S*\d\S*[-/.]\S+ ", plain))


def _instant(text: str) -> tuple[date, time | None, ZoneInfo | None] | None:
    try:
        read = datetime.fromisoformat(text.strip())
    except ValueError:
        return None
    if read.tzinfo is None:
        return read.date(), read.time(), None
    at = read.astimezone(UTC)
    return at.date(), at.time(), ZoneInfo("UTC")


def _counted(number: float) -> tuple[date, time | None, None]:
    """Return a day counted as spreadsheets do, with its time of day to the second."""
    whole = datetime.combine(_FROM, time()) + timedelta(seconds=round(number * 86_400))
    return whole.date(), whole.time() if number % 1 else None, None


def _day(text: str, order: str) -> date | None:
    try:
        if found := _ISO.fullmatch(text):
            return date(int(found[1]), int(found[2]), int(found[3]))
        if re.fullmatch(r"(19|20)\d{6}", text):
            return date(int(text[:4]), int(text[4:6]), int(text[6:]))
        if found := _SHORT.fullmatch(text):
            first, second = int(found[1]), int(found[2])
            day, month = (second, first) if order == MONTH_FIRST else (first, second)
            return date(_year(found[3]), month, day)
        if found := _NAMED.fullmatch(text):
            return date(_year(found[3]), _MONTHS[found[2][:3]], int(found[1]))
        if found := _NAMED_FIRST.fullmatch(text):
            return date(_year(found[3]), _MONTHS[found[1][:3]], int(found[2]))
    except (ValueError, KeyError):
        pass
    return None


def _year(text: str) -> int:
    """Return a year; of two figures, 50 to 99 are of the last century."""
    year = int(text)
    return year if len(text) == 4 else 1900 + year if year >= 50 else 2000 + year


def _hours(hour: int, half: str | None) -> int:
    if not half:
        return hour
    if not 1 <= hour <= 12:
        raise ValueError(hour)
    return hour % 12 + (12 if half.startswith("p") else 0)
