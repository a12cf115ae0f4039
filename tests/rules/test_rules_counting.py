"""Days and calendar months, counted each way that rules count."""

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from upsides.rules.counting import Counting, add_months, first_day

DAYS = st.dates(date(1990, 1, 1), date(2090, 1, 1))
COUNTS = st.integers(0, 400)


@pytest.mark.parametrize(
    ("day", "months", "last"),
    [
        (date(2020, 1, 1), 9, date(2020, 10, 1)),  # British Horseracing Authority, 2019: 1 January to 1 October
        (date(2021, 3, 18), 6, date(2021, 9, 18)),  # FEI notice: vaccinated 18 March, six months are up on 18 September
        (date(2022, 8, 31), 6, date(2023, 2, 28)),  # the calendar: February 2023 has 28 days
        (date(2023, 8, 31), 6, date(2024, 2, 29)),  # the calendar: February 2024 has 29 days
        (date(2024, 2, 29), 12, date(2025, 2, 28)),
        (date(2024, 10, 31), 4, date(2025, 2, 28)),
    ],
)
def test_calendar_months_keep_the_number_of_the_day(day: date, months: int, last: date) -> None:
    """Months are calendar months: the same number of the day, or the month's last day where it has none."""
    assert add_months(day, months) == last


@settings(deadline=None)
@given(DAYS, st.integers(0, 40), st.integers(0, 40))
def test_more_months_are_never_earlier(day: date, fewer: int, more: int) -> None:
    """A longer interval never ends before a shorter one, and a later dose never runs out before an earlier one."""
    low, high = sorted((fewer, more))
    assert add_months(day, low) <= add_months(day, high)
    assert add_months(day, low) <= add_months(day + timedelta(days=1), low)


@settings(deadline=None)
@given(DAYS, COUNTS)
def test_free_days_make_it_a_day_later_than_a_count_with_the_day_itself(day: date, count: int) -> None:
    """N days left free give D + N + 1, N days with D as day 1 give D + N, and an open text the later of the two."""
    free = first_day(day, count, "days", Counting.FREE)
    included = first_day(day, count, "days", Counting.INCLUDED)
    assert included == day + timedelta(days=count)
    assert free == day + timedelta(days=count + 1)
    assert first_day(day, count, "days", Counting.OPEN) == free


@settings(deadline=None)
@given(DAYS, st.integers(1, 500))
def test_hours_from_an_unknown_moment_are_over_by_the_first_day(day: date, hours: int) -> None:
    """Whenever on day D a treatment was, its hours have passed when the first day begins."""
    first = first_day(day, hours, "hours", Counting.HOURS)
    assert first is not None
    assert (first - day).days * 24 - 24 >= hours
    assert (first - day).days * 24 - 48 < hours


def test_a_limit_without_a_count_has_no_first_day() -> None:
    """Where a rule has no count no day is made up; a unit that nobody counts in is refused."""
    assert first_day(date(2025, 5, 1), 0, "days", Counting.NONE) is None
    with pytest.raises(ValueError, match="fortnights"):
        first_day(date(2025, 5, 1), 1, "fortnights", Counting.FREE)
