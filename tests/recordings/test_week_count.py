"""Dates of a receiver whose count of weeks ran over."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

import given_recordings as given
from upsides.recordings.formats.fit import write_fit
from upsides.recordings.opening import read_bytes
from upsides.recordings.recording import Message
from upsides.recordings.week_count import ROUND, put_right

AT = datetime(2026, 11, 28, 6, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    "name", ["2026-11-28.fit", "Bramble 20261128.fit", "2026_11_28_063000.fit", "20261128-0630.fit"]
)
def test_a_day_in_the_name_puts_the_weeks_right(name: str) -> None:
    """A file of 2007 whose name has the day 1,024 weeks later is of that day, and says so."""
    (one,) = read_bytes(write_fit(given.recording(AT - ROUND)), name)
    assert datetime.fromtimestamp(float(np.nanmin(one.time_s)), UTC) == AT
    assert [message.code for message in one.messages] == ["weeks_put_right"]
    assert "2007-04-14" in one.messages[0].text
    assert "2026-11-28" in one.messages[0].text


@pytest.mark.parametrize("name", ["morning.fit", "2026-11-25.fit", "2007-04-14.fit", "2026-13-28.fit"])
def test_without_the_day_in_the_name_the_times_stay(name: str) -> None:
    """Where the name has no day, or another one, nothing is moved."""
    (one,) = read_bytes(write_fit(given.recording(AT - ROUND)), name)
    assert datetime.fromtimestamp(float(np.nanmin(one.time_s)), UTC) == AT - ROUND
    assert one.messages == ()


def test_a_good_clock_is_left_alone() -> None:
    """A file of the day in its name is as written."""
    (one,) = read_bytes(write_fit(given.recording(AT)), "2026-11-28.fit")
    assert datetime.fromtimestamp(float(np.nanmin(one.time_s)), UTC) == AT
    assert one.messages == ()


@pytest.mark.parametrize(("days", "rounds"), [(0, 1), (29, 1), (31, 0), (-2, 0)])
def test_one_that_comes_in_is_of_late(days: int, rounds: int) -> None:
    """A file that began 1,024 weeks before some day of the last month is of that day and says so; no other is moved."""
    one = given.recording(AT - ROUND - timedelta(days=days))
    told = put_right(one, AT + timedelta(hours=3))
    assert told.time_s[0] - one.time_s[0] == rounds * ROUND.total_seconds()
    assert [message.code for message in told.messages] == ["weeks_put_right_lately"] * rounds
    assert put_right(one) is one
    good = given.recording(AT)
    assert put_right(good, AT) is good


def test_the_day_as_written_in_the_name_goes_before_when_it_came_in() -> None:
    """A file of long ago whose name has its own day stays as written, however well its weeks fit the day it came in."""
    one = replace(given.recording(AT - ROUND), file="2007-04-14.fit")
    assert put_right(one, AT + timedelta(hours=3)) is one


def test_dates_that_are_put_right_are_not_told_as_kept() -> None:
    """What was said of odd years as written is no longer said where they are put right."""
    odd = replace(given.recording(AT - 2 * ROUND), messages=(Message("odd_year", {"count": 3}),))
    assert [message.code for message in put_right(odd, AT).messages] == ["weeks_put_right_lately"]
