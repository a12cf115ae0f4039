"""Who drives to the races: one lorry a course and day, with a driver who is rested before and after."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Final
from zoneinfo import ZoneInfo

import numpy as np
import polars as pl

from upsides.demo.yardbooks.going import hours_to
from upsides.demo.yardbooks.grid import EPOCH
from upsides.demo.yardbooks.lines import lines, said
from upsides.demo.yardbooks.places import LORRIES
from upsides.demo.yardbooks.seasons import Seasons

_THERE_BEFORE, _STAYS = timedelta(hours=1, minutes=30), timedelta(hours=1)
_LED: Final = {"day": pl.Date(), "led": pl.String()}
_HOME: Final = "home"
REST: Final = timedelta(hours=11)
"""Rest that the yard leaves between two days of work."""
_UNRESTED: Final = 8
"""Of so many lorries one goes without its driver having been given the rest."""
Lorry = tuple[str, datetime, datetime]
"""Sign-in name of the driver, when it leaves, when it is back."""
_Span = tuple[datetime, datetime]


@dataclass(frozen=True, slots=True)
class Driving:
    """The lorries of the race days.

    Args:
        lorries: by day and course.
        off: days on which a driver does no other work in the yard: login, first_day, last_day.
    """

    lorries: Mapping[tuple[date, str], Lorry]
    off: list[tuple[str, date, date]]


def driven(seasons: Seasons, declared: pl.DataFrame) -> Driving:
    """Return the lorry of each day and course: it leaves before the first race and is back after the last.

    Those drive who look after horses and do not ride, whoever drove least and then lacks least rest. A driver does no
    other work that day, and none on the next where the night would be too short; one in `_UNRESTED` does.

    Args:
        seasons: what the books are written from.
        declared: day, course and off_at of each declared horse.
    """
    roster = _Roster(seasons)
    groups = declared.group_by("day", "course").agg(first=pl.col("off_at").min(), last=pl.col("off_at").max())
    lorries: dict[tuple[date, str], Lorry] = {}
    off: list[tuple[str, date, date]] = []
    for number, (day, course, first, last) in enumerate(groups.sort("day", "first", "course").rows(), start=1):
        road = timedelta(hours=hours_to(course))
        leaves, back = first - _THERE_BEFORE - road, last + _STAYS + road
        name = roster.driver(day, leaves, back)
        short = roster.night_after(name, day, back) < REST and number % _UNRESTED != 0
        off.append((name, day, day + timedelta(days=1) if short else day))
        roster.off.append(off[-1])
        lorries[day, course] = (name, leaves, back)
    return Driving(lorries, off)


class _Roster:
    """Who works when, and who has driven."""

    def __init__(self, seasons: Seasons) -> None:
        staff, roles = seasons.staff, pl.col("roles")
        self.zone = ZoneInfo(seasons.invented.yard.zone)
        may = staff.people.filter(roles.list.contains("carer"), ~roles.list.contains("rider"))
        self.names: list[str] = may["login"].to_list()
        self.hours: dict[tuple[str, int], list[tuple[time, time]]] = {}
        for name, weekday, starts, ends in staff.shifts.select("login", "weekday", "starts", "ends").rows():
            self.hours.setdefault((name, weekday), []).append((starts, ends))
        self.off: list[tuple[str, date, date]] = staff.days_off.select("login", "first_day", "last_day").rows()
        self.trips: dict[str, list[_Span]] = {}

    def driver(self, day: date, leaves: datetime, back: datetime) -> str:
        """Return who drives, and remember it."""
        here = [name for name in self.names if self._work(name, day)] or self.names
        name = min(here, key=lambda one: self._worth(one, day, leaves, back))
        self.trips.setdefault(name, []).append((leaves, back))
        return name

    def night_after(self, name: str, day: date, back: datetime) -> timedelta:
        """Return how long somebody who is back then rests until the next day's work."""
        begins = [start for start, _end in [*self._work(name, day + timedelta(days=1)), *self.trips.get(name, ())]]
        return min((start - back for start in begins if start >= back), default=timedelta(days=1))

    def _worth(self, name: str, day: date, leaves: datetime, back: datetime) -> tuple[bool, int, timedelta, str]:
        """Return what keeps somebody from driving: a journey near it, how often he drove, rest that would lack."""
        mine = self.trips.get(name, [])
        near = any(start < back + REST and leaves < end + REST for start, end in mine)
        before = [end for _start, end in self._work(name, day - timedelta(days=1))]
        lacks = max([REST - (leaves - end) for end in before] + [REST - self.night_after(name, day, back), timedelta()])
        return near, len(mine), lacks, name

    def _work(self, name: str, day: date) -> list[_Span]:
        if any(one == name and first <= day <= last for one, first, last in self.off):
            return []
        spans = self.hours.get((name, day.weekday()), [])
        return [(self._at(day, start), self._at(day, end)) for start, end in spans]

    def _at(self, day: date, when: time) -> datetime:
        return datetime.combine(day, when, self.zone)


def with_driving(days_off: pl.DataFrame, driving: Driving) -> pl.DataFrame:
    """Return the days off with those that drivers do no other work on."""
    rows = [(*one, "day_off") for one in driving.off]
    return pl.concat([days_off, pl.DataFrame(rows, schema=days_off.schema, orient="row")])


def wheel_lines(seasons: Seasons, driving: Driving) -> pl.DataFrame:
    """Return who was at the wheel on the days before today, there and back."""
    zone, hands, grid = ZoneInfo(seasons.invented.yard.zone), seasons.hands, seasons.grid
    rows = [
        (begun.astimezone(zone), said(person=name, hours=hours_to(course), lorry=LORRIES[0], to=to))
        for (day, course), (name, leaves, back) in driving.lorries.items()
        if day < seasons.invented.today
        for begun, to in ((leaves, course), (back - timedelta(hours=hours_to(course)), _HOME))
    ]
    days = np.array([begun.toordinal() for begun, _values in rows], dtype=np.int64)
    return lines(
        "driven",
        day=days,
        second=[begun.hour * 3600 + begun.minute * 60 for begun, _values in rows],
        author=hands.names[hands.lead[days - grid.first]].tolist(),
        values=[values for _begun, values in rows],
    )


def relieved(parts: Sequence[pl.DataFrame], seasons: Seasons, driving: Driving) -> list[pl.DataFrame]:
    """Return lines of the diary; what drivers would have written on their days is in the name of who led that day."""
    hands, grid = seasons.hands, seasons.grid
    days = np.arange(grid.today + 1)
    dates = (grid.first + days - EPOCH).astype("datetime64[D]")
    led = pl.DataFrame({"day": dates, "led": hands.names[hands.lead[days]].tolist()}, schema_overrides=_LED)
    rows = {(name, day) for name, first, last in driving.off for day in (first, last)}
    away = pl.DataFrame(sorted(rows), schema={"author": pl.String, "day": pl.Date}, orient="row")
    away = away.with_columns(away=pl.lit(value=True)).join(led, on="day", how="left", maintain_order="left")
    found = []
    for part in parts:
        told = part.join(away, on=["author", "day"], how="left", maintain_order="left")
        writes = pl.when(pl.col("away") & pl.col("led").is_not_null()).then("led").otherwise("author")
        found.append(told.with_columns(author=writes).select(part.columns))
    return found
