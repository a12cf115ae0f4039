"""Fast work, runs and lay-ups, against counting by hand."""

from datetime import date, timedelta
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from condition.done_yards import TODAY, yard
from upsides.condition.done.dates import Dates
from upsides.condition.done.fast import lay_ups
from upsides.condition.done.summary import Done, string_done


def _done(ago: list[int], runs: list[int] | None = None, on: date = TODAY, speed: float = 15.2) -> Done:
    """Return what a horse did that worked fast, and ran, so many days before today; two days ago it walked."""
    listed = [(0, TODAY - timedelta(days=k), speed, 800.0) for k in ago] + [(0, TODAY - timedelta(days=2), 1.6, 900.0)]
    return string_done(yard(listed, [(0, TODAY - timedelta(days=k)) for k in runs or []]), [0], on)[0]


def test_days_since_the_last_fast_work_and_run() -> None:
    """Fast work 4 days ago and a run 9 days ago are 4 and 9; a run is fast work, too."""
    done = _done([4, 20], [9])
    assert (done.since_fast, done.since_run, done.fast_works) == (4, 9, 2)
    assert (_done([], [9]).since_fast, _done([], [9]).fast_works) == (9, 1)


def test_fast_works_of_fourteen_days_are_days() -> None:
    """The day 13 days ago counts and the day 14 days ago does not; two works of a day are one."""
    assert _done([0, 0, 3, 13, 14]).fast_works == 3


def test_canter_is_no_fast_work_nor_is_half_a_furlong() -> None:
    """800 m at 13 m/s, and 100 m at 15, make no day of fast work; 202 m at 14 do."""
    assert _done([4], speed=13.2).since_fast is None
    one = [(0, TODAY - timedelta(days=4), 15.2, 100.0), (0, TODAY - timedelta(days=9), 14.2, 202.0)]
    assert string_done(yard(one), [0], TODAY)[0].since_fast == 9


def test_a_lay_up_is_sixty_days_and_ends_with_fast_work() -> None:
    """60 days between two fast works are a lay-up, 59 are none; before the first fast work there is none."""
    back = _done([5, 65, 70])
    assert (back.laid_up, back.lay_up_lasted, back.since_lay_up) == (None, 60, 5)
    assert (_done([5, 64]).since_lay_up, _done([5]).since_lay_up, _done([5]).laid_up) == (None, None, None)


def test_a_lay_up_that_goes_on_is_told_with_its_days() -> None:
    """80 days after the last fast work it is laid up for 80 days, and the one before that is still told."""
    done = _done([80, 200])
    assert (done.laid_up, done.lay_up_lasted, done.since_lay_up) == (80, 120, 80)
    assert _done([59]).laid_up is None


def test_nothing_of_tomorrow_is_known() -> None:
    """Seen from an earlier day, later work and its end of a lay-up are not there."""
    done = _done([0, 5, 100], on=TODAY - timedelta(days=10))
    assert (done.since_fast, done.laid_up, done.since_lay_up, done.fast_works) == (90, 90, None, 0)


@given(st.lists(st.tuples(st.integers(0, 3), st.integers(700_000, 700_400)), min_size=1, max_size=60, unique=True))
def test_look_ups_agree_with_looking_at_every_day(listed: list[tuple[int, int]]) -> None:
    """Days since the last and the first, counts, totals and lay-ups are those found by going through the list."""
    dates = Dates.of([h for h, _ in listed], [d for _, d in listed], [float(d % 7) for _, d in listed])
    ended = lay_ups(dates)
    for horse in range(4):
        mine = sorted(day for whose, day in listed if whose == horse)
        gaps = [(b, b - a) for a, b in pairwise(mine) if b - a >= 60]
        for day in (699_990, 700_100, 700_250, 700_500):
            past = [one for one in mine if one <= day]
            inside = [one for one in past if one > day - 30]
            expected = (day - past[-1], day - past[0]) if past else (np.nan, np.nan)
            found = float(dates.since([horse], day)[0]), float(dates.until([horse], day)[0])
            assert found == pytest.approx(expected, nan_ok=True)
            assert int(dates.count([horse], day, 30)[0]) == len(inside)
            assert float(dates.total([horse], day, 30)[0]) == pytest.approx(sum(one % 7 for one in inside))
            last = [(day - end, lasted) for end, lasted in gaps if end <= day]
            told = tuple(float(one[0]) for one in ended.last([horse], day))
            assert told == pytest.approx(last[-1] if last else (np.nan, np.nan), nan_ok=True)
