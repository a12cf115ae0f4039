"""Planned shifts against the limits of work and rest.

Sources: Working Time (Amendment) Regulations 2002, explanatory note (8 hours a day, 40 a week, 10 p.m. to 6 a.m.);
Acas on younger workers (12 hours, 48 hours, 30 minutes after four and a half hours); Protection of Young Persons
(Employment) Act 1996, section 6 (Ireland); HSE on the Working Time Regulations 1998 (48 hours on average; 11 hours of
rest).
"""

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from upsides.errors import NoRuleError, UnreadableError
from upsides.rules import Limit, OverLimit, Shift, check_shifts
from upsides.rules.shifts import hours_worked
from upsides.rules.working_time import age_on

LONDON = ZoneInfo("Europe/London")
MONDAY = date(2025, 6, 2)
YOUNG = date(2008, 1, 10)
ADULT = date(1990, 1, 10)


def shift(day: int, start: float, end: float, pause: int = 30) -> Shift:
    """Return a shift on the nth day after a Monday, from and to hours of the clock."""
    midnight = datetime(MONDAY.year, MONDAY.month, MONDAY.day, tzinfo=LONDON) + timedelta(days=day)
    return Shift(midnight + timedelta(hours=start), midnight + timedelta(hours=end), pause)


def limits(found: tuple[OverLimit, ...]) -> list[tuple[Limit, float, float]]:
    return [(over.limit, over.value, over.allowed) for over in found]


@pytest.mark.parametrize("place", ["Britain", "Ireland"])
def test_a_young_persons_week_at_the_limit_is_within_it(place: str) -> None:
    """Five days of eight hours between six and six, with half an hour's break and two days off, are within all."""
    plan = [shift(day, 6, 14.5) for day in range(5)]
    assert check_shifts(plan, YOUNG, place) == ()


@pytest.mark.parametrize("place", ["Britain", "Ireland"])
def test_a_minute_more_is_over_the_day_and_the_week(place: str) -> None:
    """A minute more on one day of a full week is over eight hours that day and over forty that week."""
    plan = [*(shift(day, 6, 14.5) for day in range(4)), shift(4, 6, 14.5 + 1 / 60)]
    assert limits(check_shifts(plan, YOUNG, place)) == [(Limit.WEEK, 40.02, 40), (Limit.DAY, 8.02, 8)]


def test_five_in_the_morning_is_night_for_the_young_and_not_for_adults() -> None:
    """Five is in the night of a young worker (10 p.m. to 6 a.m.), on a Monday too; an adult has no such limit."""
    plan = [shift(0, 5, 9)]
    assert limits(check_shifts(plan, YOUNG, "Britain")) == [(Limit.NIGHT, 1, 0)]
    assert limits(check_shifts([shift(0, 6, 10), shift(1, 21, 23)], YOUNG, "Britain")) == [(Limit.NIGHT, 1, 0)]
    assert check_shifts(plan, ADULT, "Britain") == ()


def test_a_contract_for_late_work_moves_the_night_by_an_hour() -> None:
    """With a contract for work after 10 p.m. the night is 11 p.m. to 7 a.m."""
    assert check_shifts([shift(0, 19, 23)], YOUNG, "Britain", late=True) == ()
    assert limits(check_shifts([shift(0, 6, 10)], YOUNG, "Britain", late=True)) == [(Limit.NIGHT, 1, 0)]


def test_rest_between_evening_stables_and_the_morning() -> None:
    """From 19:00 to 06:30 is eleven and a half hours: enough for an adult, and not for a young worker's twelve."""
    plan = [shift(0, 7, 10), shift(0, 16, 19), shift(1, 6.5, 10)]
    assert limits(check_shifts(plan, YOUNG, "Britain")) == [(Limit.DAILY_REST, 11.5, 12)]
    assert check_shifts(plan, ADULT, "Britain") == ()
    short = [shift(0, 7, 10), shift(0, 16, 19.5), shift(1, 6, 10)]
    assert limits(check_shifts(short, ADULT, "Britain")) == [(Limit.DAILY_REST, 10.5, 11)]


def test_days_off_each_week() -> None:
    """Six mornings leave less than 48 hours for the young; seven leave an adult no 24 hours in a row."""
    six = [shift(day, 7, 13) for day in range(6)]
    assert limits(check_shifts(six, YOUNG, "Britain")) == [(Limit.WEEKLY_REST, 35, 48)]
    assert check_shifts(six, ADULT, "Britain") == ()
    seven = [shift(day, 7, 13) for day in range(7)]
    assert limits(check_shifts(seven, ADULT, "Britain")) == [(Limit.WEEKLY_REST, 18, 24)]


def test_breaks() -> None:
    """More than four and a half hours need half an hour (young), more than six need 20 minutes (adults, Britain)."""
    assert check_shifts([shift(0, 7, 11.5, 0)], YOUNG, "Britain") == ()
    assert limits(check_shifts([shift(0, 7, 11.6, 20)], YOUNG, "Britain")) == [(Limit.BREAK, 20, 30)]
    assert check_shifts([shift(0, 7, 13, 0)], ADULT, "Britain") == ()
    assert limits(check_shifts([shift(0, 7, 13.1, 0)], ADULT, "Britain")) == [(Limit.BREAK, 0, 20)]


def test_an_adults_average_over_weeks() -> None:
    """Sixty hours are over 48; sixty and then thirty average 45 and are not; who opted out is not asked."""
    heavy = [shift(day, 6, 18, 120) for day in range(6)]
    light = [shift(7 + day, 7, 12, 0) for day in range(6)]
    assert limits(check_shifts(heavy, ADULT, "Britain")) == [(Limit.AVERAGE, 60, 48)]
    assert check_shifts([*heavy, *light], ADULT, "Britain") == ()
    assert check_shifts(heavy, ADULT, "Britain", opted_out=True) == ()


def test_the_average_is_taken_over_seventeen_weeks() -> None:
    """Seventeen weeks of 49 hours are over, though a light one follows; sixteen and a light one are not."""
    heavy = [[shift(7 * week + day, 6, 14.7 if day == 4 else 16.7, 30) for day in range(5)] for week in range(17)]
    light = [shift(7 * 17, 7, 11, 0)]
    plan = [one for week in heavy for one in week]
    found = check_shifts([*plan, *light], ADULT, "Britain")
    assert limits(found) == [(Limit.AVERAGE, 49, 48)]
    assert (found[0].first, found[0].last) == (MONDAY, MONDAY + timedelta(days=17 * 7 - 1))
    assert check_shifts([*plan[5:], *light], ADULT, "Britain") == ()


def test_the_birthday_and_the_age_of_children() -> None:
    """The limits change with the week after the 18th birthday; below 16 the answer says that other rules hold."""
    plan = [shift(0, 5, 9)]
    assert limits(check_shifts(plan, date(2007, 6, 3), "Britain")) == [(Limit.NIGHT, 1, 0)]
    assert check_shifts(plan, date(2007, 6, 2), "Britain") == ()
    child = check_shifts([shift(0, 9, 12)], date(2010, 1, 1), "Britain")
    assert limits(child) == [(Limit.SCHOOL_AGE, 15, 16)]
    assert "children" in str(child[0])
    assert (age_on(date(2008, 2, 29), date(2026, 2, 28)), age_on(date(2008, 2, 29), date(2026, 3, 1))) == (17, 18)


def test_a_night_on_which_the_clocks_change_counts_as_it_was() -> None:
    """From 20:00 to 06:00 is nine hours when British clocks go forward (30 March 2025) and eleven when they go back."""
    for day, hours in [(date(2025, 3, 29), 9), (date(2025, 10, 25), 11)]:
        start = datetime(day.year, day.month, day.day, 20, tzinfo=LONDON)
        end = datetime(day.year, day.month, day.day, 6, tzinfo=LONDON) + timedelta(days=1)
        plan = [Shift(start, end)]
        assert hours_worked(plan, day) + hours_worked(plan, day + timedelta(days=1)) == hours


@settings(deadline=None, max_examples=50)
@given(
    st.lists(st.tuples(st.integers(0, 13), st.integers(4, 20), st.integers(1, 8)), max_size=8, unique_by=lambda s: s[0])
)
def test_more_work_never_mends_a_plan(shifts: list[tuple[int, int, int]]) -> None:
    """Taking a shift away from a plan never puts the young over a limit on hours that the whole plan keeps."""
    plan = [shift(day, start, min(start + length, 24)) for day, start, length in shifts]
    hours = {Limit.DAY, Limit.WEEK, Limit.NIGHT}
    whole = {(over.limit, over.first) for over in check_shifts(plan, YOUNG, "Britain") if over.limit in hours}
    for n in range(len(plan)):
        part = check_shifts([*plan[:n], *plan[n + 1 :]], YOUNG, "Britain")
        assert {(over.limit, over.first) for over in part if over.limit in hours} <= whole


def test_what_cannot_be_meant_is_refused() -> None:
    """A shift that ends before it starts, has no zone, or overlaps another, and a place without rules, are refused."""
    with pytest.raises(UnreadableError, match="after the start"):
        shift(0, 9, 8)
    with pytest.raises(UnreadableError, match="zone"):
        Shift(datetime(2025, 6, 2, 7), datetime(2025, 6, 2, 9))  # noqa: DTZ001  # the refusal is meant
    with pytest.raises(UnreadableError, match="overlap"):
        check_shifts([shift(0, 7, 9), shift(0, 8, 10)], ADULT, "Britain")
    with pytest.raises(NoRuleError, match="working time"):
        check_shifts([shift(0, 7, 9)], ADULT, "Hong Kong")
    assert check_shifts([], ADULT, "Britain") == ()
