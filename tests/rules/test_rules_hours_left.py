"""Pieces of a morning that limits of work and rest leave to a young worker.

Sources: Working Time (Amendment) Regulations 2002, explanatory note (8 hours a day, 40 a week, no work from 10 p.m. to
6 a.m.); Acas, Employing younger workers (12 hours of rest in each day, 48 hours in each week).
"""

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from upsides.errors import NoRuleError
from upsides.rules import Limit, Shift
from upsides.rules.hours_left import against_pieces

LONDON = ZoneInfo("Europe/London")
MONDAY = date(2025, 6, 2)
YOUNG = date(2008, 1, 10)


def at(day: int, start: float, end: float) -> Shift:
    """Return work on the nth day after a Monday, from and to hours of the clock."""
    midnight = datetime(MONDAY.year, MONDAY.month, MONDAY.day, tzinfo=LONDON) + timedelta(days=day)
    return Shift(midnight + timedelta(hours=start), midnight + timedelta(hours=end))


def lots(day: int) -> list[Shift]:
    return [at(day, start, start + 1) for start in (5, 6, 7, 8, 9, 10, 11, 12, 13, 14)]


def barred(before: list[Shift], today: list[Shift], day: int, born: date = YOUNG) -> dict[int, set[Limit]]:
    """Return the hours at which pieces begin that are not open, with why."""
    found = against_pieces(before, today, lots(day), born, "Britain")
    return {
        one.start.hour: {over.limit for over in limits} for one, limits in zip(lots(day), found, strict=True) if limits
    }


def test_nights_and_more_than_eight_hours_are_barred() -> None:
    """Whose hours run from five to fifteen begins at six, where the night ends, and stops after eight hours at two."""
    assert barred([], [at(0, 5, 15)], 0) == {5: {Limit.NIGHT}, 14: {Limit.DAY}}


def test_a_late_evening_bars_the_next_morning() -> None:
    """After work until eight in the evening twelve hours are free, so that nothing before eight is open."""
    assert set(barred([at(0, 14, 20)], [at(1, 6, 12)], 1)) == {5, 6, 7}


def test_forty_hours_bar_the_rest_of_the_week() -> None:
    """Four days of eight hours leave eight; six days in a row leave no two days off."""
    before = [*(at(day, 6, 14) for day in range(4))]
    assert barred(before, [at(4, 6, 14)], 4) == {5: {Limit.NIGHT}, 14: {Limit.DAY, Limit.WEEK}}
    six = [at(day, 7, 14) for day in range(5)]
    found = barred(six, [at(5, 7, 13)], 5)
    assert Limit.WEEKLY_REST in found[8], "six days leave no two days in a row"


def test_the_weeks_hours_that_are_left_are_open() -> None:
    """With 37 hours behind it a Friday has three left: the first three hours are open and no more."""
    before = [
        at(0, 6, 14),
        at(1, 6, 14),
        at(2, 6, 14),
        at(3, 6, 14),
    ]
    full = [*before[:3], at(3, 6, 14)]
    assert sum((one.end - one.start).seconds for one in full) == 32 * 3600
    found = barred(full, [at(4, 6, 14)], 4)
    assert 13 not in found
    found = barred([*(at(day, 6, 15.25) for day in range(4))], [at(4, 6, 14)], 4)
    assert sorted(hour for hour, why in found.items() if Limit.WEEK in why) == [9, 10, 11, 12, 13, 14]


def test_without_known_hours_only_pieces_count() -> None:
    """Who has no hours entered works from the first open piece on."""
    assert barred([], [], 0) == {5: {Limit.NIGHT}, 14: {Limit.DAY}}


def test_children_are_barred_from_everything() -> None:
    """Below sixteen children's rules hold, which are not kept here: no piece is open."""
    assert set(barred([], [at(0, 6, 9)], 0, date(2010, 1, 10))) == set(range(5, 15))


def test_a_place_without_rules_is_refused() -> None:
    """Where nothing is known the question is refused."""
    with pytest.raises(NoRuleError):
        against_pieces([], [], lots(0), YOUNG, "Hong Kong")
