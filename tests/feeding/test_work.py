"""Which class of work a horse is in."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from upsides.errors import FeedingRefusedError
from upsides.feeding import WORKS, Week, defaults, work_of

GIVEN = defaults(date(2026, 6, 1))


@pytest.mark.parametrize(
    ("hours", "canter", "work"),
    [
        (0.5, 0, "average"),
        (1, 0, "light"),
        (2.9, 1, "light"),
        (3, 1, "moderate"),
        (4.5, 1, "moderate"),
        (4, 3, "heavy"),
        (6, 0, "very heavy"),
    ],
)
def test_hours_give_the_published_classes(hours: float, canter: int, work: str) -> None:
    """One to 3 hours a week are light, 3 to 5 moderate, 4 to 5 with cantering heavy; 6 of slow work very heavy.

    Source: Lawrence 2008 on National Research Council 2007. That three days of canter decide is common practice.
    """
    assert work_of([Week(canter, 0, 1, hours)], GIVEN).work == work


def test_a_horse_in_fast_work_is_in_very_heavy_work() -> None:
    """One day of fast work a week makes it very heavy, hours known or not; common practice, no source."""
    found = work_of([Week(4, 1, 1)], GIVEN)
    assert (found.work, found.why, found.hours) == ("very heavy", "fast work", None)


def test_the_mean_of_the_weeks_counts() -> None:
    """Fast work in one week of two is half a day a week, so hours and canter decide; the means are told."""
    found = work_of([Week(4, 1, 1, 5.0), Week(5, 0, 1, 4.0)], GIVEN)
    assert (found.work, found.why) == ("heavy", "hours and canter")
    assert (found.fast_days, found.canter_days, found.off_days, found.hours) == (0.5, 4.5, 1.0, 4.5)


def test_a_week_of_days_off_needs_no_hours() -> None:
    """Seven days off are no work, though nobody wrote down hours."""
    assert work_of([Week(0, 0, 7)], GIVEN).work == "average"


def test_unknown_hours_are_not_taken_for_none() -> None:
    """A week without hours, and too little fast work to decide, is refused and not called light."""
    with pytest.raises(FeedingRefusedError, match="hours not known"):
        work_of([Week(4, 0, 1), Week(4, 0, 1, 4.0)], GIVEN)


def test_no_week_is_refused() -> None:
    """Without a week there is nothing to go by."""
    with pytest.raises(FeedingRefusedError, match="nothing to go by"):
        work_of([], GIVEN)


@pytest.mark.parametrize(
    "week", [(5, 2, 1, 4.0), (-1, 0, 0, 1.0), (0, 0, 7, 2.0), (1, 1, 1, -2.0), (1, 1, 1, float("nan"))]
)
def test_a_week_that_cannot_be_is_refused(week: tuple[int, int, int, float]) -> None:
    """Eight days, less than none, hours on days off and hours that are no number are refused."""
    with pytest.raises(FeedingRefusedError):
        Week(*week)


@given(st.integers(0, 3), st.integers(0, 3), st.floats(0, 12), st.floats(0, 12))
def test_more_hours_are_never_an_easier_class(canter: int, fast: int, hours: float, more: float) -> None:
    """More hours under the rider, all else the same, do not lower the class."""
    less, much = (work_of([Week(canter, fast, 0, h)], GIVEN).work for h in (hours, hours + more))
    assert WORKS.index(less) <= WORKS.index(much)
