"""Drivers of the invented yard rest between days, as the law of its country asks, but for few; those are shown."""

from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

import polars as pl

from upsides.demo import Books, Invented
from upsides.rules import Limit, Shift, check_shifts

GROWN = date(1980, 1, 1)


Trip = tuple[datetime, datetime]


def plan_of(books: Books, invented: Invented, login: str, day: date, away: list[Trip]) -> list[Shift]:
    """Return somebody's work from two days before a day to two after, journeys among it; what overlaps is joined."""
    zone = ZoneInfo(invented.yard.zone)
    off = books.days_off.filter(pl.col("login") == login).select("first_day", "last_day").rows()
    spans: list[Trip] = []
    for one in (day + timedelta(days=k) for k in range(-2, 3)):
        if any(first <= one <= last for first, last in off):
            continue
        mine = books.shifts.filter(pl.col("login") == login, pl.col("weekday") == one.weekday())
        for begins, ends in mine.select("starts", "ends").rows():
            spans.append((datetime.combine(one, begins, zone), datetime.combine(one, ends, zone)))
    spans += [span for span in away if abs((span[0].date() - day).days) <= 2]
    joined: list[list[Any]] = []
    for start, end in sorted(spans):
        if joined and start <= joined[-1][1]:
            joined[-1][1] = max(joined[-1][1], end)
        else:
            joined.append([start, end])
    return [Shift(start.astimezone(zone), end.astimezone(zone)) for start, end in joined]


def test_drivers_rest_on_most_race_days(books: Books, invented: Invented) -> None:
    """Held against Britain's daily rest (Working Time Regulations 1998, regulation 10) drivers are rested but for one
    lorry in eight, which the books show; everybody of a course's day travels together, nobody is at two courses."""
    lorries = books.cards.group_by("day", "course").agg(pl.col("driver", "leaves_at", "back_at").unique())
    assert lorries.select(pl.col("driver", "leaves_at", "back_at").list.len().max()).row(0) == (1, 1, 1)
    rows = [(row["day"], row["driver"][0], (row["leaves_at"][0], row["back_at"][0])) for row in lorries.to_dicts()]
    by_driver: dict[str, list[Trip]] = {}
    for _day, driver, trip in rows:
        by_driver.setdefault(driver, []).append(trip)
    for trips in by_driver.values():
        ordered = sorted(trips)
        assert all(one[1] <= other[0] for one, other in pairwise(ordered))
    short = 0
    for day, driver, (leaves, back) in rows:
        assert leaves.astimezone(UTC) < back.astimezone(UTC)
        plan = plan_of(books, invented, driver, day, by_driver[driver])
        over = check_shifts(plan, GROWN, "Britain", opted_out=True)
        short += any(one.limit is Limit.DAILY_REST and abs((one.first - day).days) <= 1 for one in over)
    assert len(rows) > 10
    assert 0 < short <= len(rows) / 8
