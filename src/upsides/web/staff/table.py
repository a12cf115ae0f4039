"""The week as a table: people by days."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from upsides.books.hours import clock
from upsides.books.models import DayOff
from upsides.books.queries.staff import WorkDay, Worker

_QUARTERS = {0: "", 15: "¼", 30: "½", 45: "¾"}


@dataclass(frozen=True, slots=True)
class Cell:
    """One person's day in words.

    Args:
        day: which.
        lines: the hours, each stretch as 6:00–9:30.
        sum: how many hours, for where there is no room for more; empty for none.
        rides: whether work is ridden.
        off: that the person is off, with why for those who may know; empty for nobody who is.
        today: whether it is today.
    """

    day: date
    lines: tuple[str, ...]
    sum: str
    rides: bool
    off: str
    today: bool


@dataclass(frozen=True, slots=True)
class Row:
    """One person's week.

    Args:
        number: of the person.
        name: the name.
        duty: what for, in words.
        known: whether hours are entered.
        cells: a day each.
        total: hours in the week, in words.
        here: whether the person is at work today, so that there is something to be off from.
    """

    number: int
    name: str
    duty: str
    known: bool
    cells: tuple[Cell, ...]
    total: str
    here: bool


@dataclass(frozen=True, slots=True)
class WeekTable:
    """The week of all.

    Args:
        days: the days, with whether each is today.
        rows: a person each.
        at_work: how many are at work on each day.
        ride: how many ride work on each day.
        hours: hours of all in the week.
    """

    days: tuple[tuple[date, bool], ...]
    rows: tuple[Row, ...]
    at_work: tuple[int, ...]
    ride: tuple[int, ...]
    hours: float

    @property
    def foot(self) -> tuple[tuple[str, tuple[tuple[date, bool, int], ...], str], ...]:
        """Return the rows below the people: words, the number of each day, and the week's."""
        counted = ((_("At work"), self.at_work, self.total), (_("Ride work"), self.ride, ""))
        return tuple(
            (words, tuple((day, today, number) for (day, today), number in zip(self.days, numbers, strict=True)), total)
            for words, numbers, total in counted
        )

    @property
    def total(self) -> str:
        """Return the hours of all in words."""
        return hours_in_words(self.hours)


def week_table(workers: Sequence[Worker], monday: date, today: date, zone: ZoneInfo, *, why: bool) -> WeekTable:
    """Return the week from a Monday on; `why` is whether the reader may know why somebody is off."""
    days = [monday + timedelta(days=n) for n in range(7)]
    columns = [[worker.days[n] for worker in workers] for n in range(7)]
    return WeekTable(
        tuple((day, day == today) for day in days),
        tuple(_row(worker, today, zone, why=why) for worker in workers),
        tuple(sum(bool(one.spans) for one in column) for column in columns),
        tuple(sum(one.rides for one in column) for column in columns),
        sum(one.hours(zone) for column in columns for one in column),
    )


def hours_in_words(hours: float) -> str:
    """Return hours as 8, 7½ or 7:20; a dash for none."""
    whole, minutes = divmod(round(hours * 60), 60)
    if not whole and not minutes:
        return "–"
    if minutes in _QUARTERS:
        return (str(whole) if whole else "") + _QUARTERS[minutes]
    return f"{whole}:{minutes:02}"


def off_in_words(away: str, *, why: bool) -> str:
    """Return that somebody is off, with why for those who may know; empty for nobody who is."""
    if not away:
        return ""
    return str(DayOff.Why(away).label) if why else _("off")


def _row(worker: Worker, today: date, zone: ZoneInfo, *, why: bool) -> Row:
    total = sum(one.hours(zone) for one in worker.days)
    return Row(
        worker.number,
        worker.name,
        ", ".join(str(role.label) for role in worker.roles),
        worker.known,
        tuple(_cell(one, today, zone, why=why) for one in worker.days),
        hours_in_words(total),
        any(one.day == today and one.spans for one in worker.days),
    )


def _cell(one: WorkDay, today: date, zone: ZoneInfo, *, why: bool) -> Cell:
    lines = tuple(f"{clock(span.starts)}–{clock(span.ends)}" for span in one.spans)
    hours = hours_in_words(one.hours(zone)) if one.spans else ""
    return Cell(one.day, lines, hours, one.rides, off_in_words(one.away, why=why), one.day == today)
