"""Times put right where the file tells how, and said where it does not."""

import numpy as np
import pytest

from upsides.errors import TooLittleLeftError
from upsides.recordings.recording import Recording
from upsides.recordings.times import Clock, clock_of, joined

START = 1.7e9


def _recording(time: np.ndarray, **columns: np.ndarray) -> Recording:
    rise = {"latitude": 50 + 1e-5 * np.arange(time.size), "longitude": np.zeros(time.size)}
    return Recording.of_columns("a.fit", "fit", time.size, time_s=time, **(rise | columns))


def _codes(clock: Clock) -> dict[str, int]:
    return {message.code: message.count for message in clock.messages}


def test_good_times_stay() -> None:
    """Times that rise are left alone, and nothing is said."""
    time = START + np.arange(50) / 5
    clock = clock_of(_recording(time))
    assert (clock.time_s == time).all()
    assert (clock.rows == np.arange(50)).all()
    assert clock.messages == ()


def test_fixes_of_one_second_are_spread_over_it() -> None:
    """Five fixes that share each whole second come to stand a fifth of a second apart, and it is said how many."""
    clock = clock_of(_recording(START + np.repeat(np.arange(20.0), 5)))
    np.testing.assert_allclose(clock.time_s - START, np.arange(100) / 5, atol=1e-6)
    assert _codes(clock) == {"seconds_shared": 100}


def test_uneven_seconds_are_spread_each_by_itself() -> None:
    """Seconds of four, six and two fixes are each spread over their own second, so that time still rises."""
    clock = clock_of(_recording(START + np.repeat([0.0, 1.0, 2.0, 3.0], [4, 6, 2, 1])))
    expected = [0, 0.25, 0.5, 0.75, *(1 + np.arange(6) / 6), 2, 2.5, 3]
    np.testing.assert_allclose(clock.time_s - START, expected, atol=1e-6)


def test_a_fix_written_twice_is_left_out() -> None:
    """Of two fixes with the same time and place one stays; the count is said and named as doubles."""
    order = np.sort(np.r_[np.arange(60), [7, 30]])
    time = START + np.arange(60.0)
    one = _recording(time)
    clock = clock_of(_recording(time[order], latitude=one.latitude[order]))
    assert (clock.time_s == time).all()
    assert _codes(clock) == {"fixes_twice": 2}
    assert clock.doubles.tolist() == [8, 32]


def test_a_track_that_stands_twice_counts_once() -> None:
    """Of a track that is written twice, or twice and then goes on, each fix counts once, and no clock was set back."""
    once = _recording(START + np.arange(30.0), heart_bpm=np.full(30, 90.0))
    rows = np.r_[np.arange(20), np.arange(30)]
    latitude = once.latitude.copy()
    latitude[[5, 6]] = np.nan
    twice = _recording(once.time_s[rows], latitude=latitude[rows], longitude=np.zeros(50))
    clock = clock_of(twice)
    np.testing.assert_array_equal(clock.time_s, once.time_s)
    assert sorted(clock.doubles) == list(range(20, 40))
    assert _codes(clock) == {"fixes_twice": 20}


def test_fixes_far_apart_that_share_a_time_cannot_be_told_apart() -> None:
    """Where fixes come every four seconds, a second one of the same time is left out, not spread."""
    time = START + np.r_[0, 4, 8, 8, 12, 16, 20.0]
    clock = clock_of(_recording(time))
    assert np.diff(clock.time_s).min() == 4
    assert _codes(clock) == {"times_twice": 1}


def test_neighbours_in_the_wrong_order_are_sorted() -> None:
    """Two fixes that changed places are put back, with what belongs to them."""
    order = np.arange(40)
    order[[20, 21]] = 21, 20
    clock = clock_of(_recording((START + np.arange(40.0))[order]))
    assert (clock.rows == order).all()
    assert (np.diff(clock.time_s) == 1).all()
    assert not clock.broken.any()
    assert _codes(clock) == {"times_swapped": 2}


def test_a_clock_set_back_makes_two_stretches() -> None:
    """A clock that goes back a minute and goes on: what came before is moved to before it, and there is a break."""
    time = START + np.r_[np.arange(100.0), 40 + np.arange(100.0)]
    clock = clock_of(_recording(time))
    assert (np.diff(clock.time_s) > 0).all()
    assert (clock.time_s[100:] == time[100:]).all()
    assert np.flatnonzero(clock.broken).tolist() == [100]
    assert clock.time_s[99] == clock.time_s[100] - 1
    assert _codes(clock) == {"clock_set_back": 1}


def test_parts_in_the_wrong_order_are_put_in_order() -> None:
    """Two parts that do not overlap are put in order of time without moving either."""
    time = START + np.r_[5000 + np.arange(50.0), np.arange(50.0)]
    clock = clock_of(_recording(time))
    assert (clock.time_s == np.sort(time)).all()
    assert np.flatnonzero(clock.broken).tolist() == [50]


def test_a_clock_put_back_in_autumn_keeps_the_order() -> None:
    """Local times of a night in autumn go back by an hour and on: nothing changes places, nothing lies between."""
    told = np.r_[np.arange(1200.0), np.arange(1200.0, 3000.0) - 3600.0]
    clock = clock_of(_recording(START + told))
    assert (clock.rows == np.arange(3000)).all()
    assert (np.diff(clock.time_s) == 1.0).all()
    assert not clock.broken.any()
    assert _codes(clock) == {"clock_put_back": 1}


def test_a_step_back_by_about_an_hour_is_said_to_be_doubtful() -> None:
    """Where it goes on after a pause, nothing tells that from parts in the wrong order: that is said."""
    told = np.r_[np.arange(1200.0), np.arange(1500.0, 3000.0) - 3600.0]
    clock = clock_of(_recording(START + told))
    assert _codes(clock) == {"parts_sorted_hour": 1}


@pytest.mark.parametrize("seconds", [np.arange(120.0), np.cumsum(np.r_[0, np.tile([1.0, 4.0, 7.0, 2.0], 30)])])
def test_a_file_written_newest_first_is_read_from_its_end(seconds: np.ndarray) -> None:
    """A file that is written newest first is the same track as the one written forward, unbroken, and it says so."""
    time = START + seconds
    clock = clock_of(_recording(time[::-1]))
    assert (clock.time_s == time).all()
    assert (clock.rows == np.arange(time.size)[::-1]).all()
    assert not clock.broken.any()
    assert _codes(clock) == {"newest_first": 0}


def test_parts_that_go_on_at_the_usual_step_are_not_broken() -> None:
    """Minutes written newest first are put in order, and one goes on from the other where a second lies between."""
    time = START + np.arange(600.0).reshape(10, 60)
    clock = clock_of(_recording(time[::-1].ravel()))
    assert (clock.time_s == time.ravel()).all()
    assert not clock.broken.any()
    assert _codes(clock) == {"parts_sorted": 9}


def test_fixes_without_time_are_left_out_and_said() -> None:
    """Fixes without a time are left out, the others stay."""
    time = START + np.arange(30.0)
    time[[3, 4]] = np.nan
    clock = clock_of(_recording(time))
    assert clock.rows.size == 28
    assert _codes(clock) == {"times_missing": 2}


@pytest.mark.parametrize("years", [-33, -3, 40])
def test_a_handful_of_fixes_of_another_year_are_left_out(years: int) -> None:
    """Two fixes of a hundred whose times lie years from all others are left out, and the file spans what it spans."""
    time = START + np.arange(120.0)
    time[[30, 90]] += years * 365.25 * 86400
    clock = clock_of(_recording(time))
    assert clock.rows.size == 118
    assert np.ptp(clock.time_s) == 119
    assert _codes(clock) == {"times_far": 2}


@pytest.mark.parametrize("time", [np.full(20, np.nan), -2.1e9 + np.arange(180) * 1e-6, np.full(20, 5.0), np.array([])])
def test_a_clock_that_says_nothing_is_refused(time: np.ndarray) -> None:
    """No times, one time for all, or hours of work within microseconds: the file is named, with reason and remedy."""
    with pytest.raises(TooLittleLeftError, match=r"a\.fit: .*; .*clock this work by hand"):
        clock_of(_recording(time))


def test_a_single_fix_is_called_that() -> None:
    """Of one fix with a time it is said that it is one, not that times are missing."""
    with pytest.raises(TooLittleLeftError, match="holds a single fix; one place has no speed"):
        clock_of(_recording(np.array([START])))


def test_a_year_that_cannot_be_is_said() -> None:
    """A recording of 1989 keeps its times, for how long it took holds; the day is said not to."""
    clock = clock_of(_recording(6.3e8 + np.arange(30.0)))
    assert clock.time_s[0] == 6.3e8
    assert "1989" in clock.messages[0].text
    assert _codes(clock) == {"clock_not_set": 0}


@pytest.mark.parametrize("days", [27, 3652])
def test_days_between_are_said(days: int) -> None:
    """A gap of 27 days or of ten years is said in days."""
    clock = clock_of(_recording(START + np.r_[np.arange(30.0), days * 86400 + np.arange(30.0)]))
    assert _codes(clock) == {"days_between": days}


def test_two_records_of_one_moment_become_one_fix() -> None:
    """Position in one record and heart in the next of the same time are one fix that has both."""
    time = START + np.repeat(np.arange(10.0), 2)
    placed = np.arange(20) % 2 == 0
    latitude = np.where(placed, 50.0 + np.arange(20) * 1e-5, np.nan)
    heart = np.where(placed, np.nan, 90.0 + np.arange(20))
    one = joined(_recording(time, latitude=latitude, heart_bpm=heart))
    assert len(one) == one.with_position == one.with_heart == 10
    assert one.heart_bpm.tolist() == (91.0 + 2 * np.arange(10)).tolist()
    assert [message.code for message in one.messages] == ["fixes_joined"]
