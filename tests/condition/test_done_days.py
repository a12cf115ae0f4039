"""Sums over days and speeds, against Polars on the same rows."""

from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from condition.done_yards import TODAY, random_rows, rows_of, yard
from upsides.condition.done.days import Days, keys
from upsides.condition.done.rows import MEASURED, SOURCES, Rows
from upsides.condition.done.summary import string_done
from upsides.condition.exposure.held import string_held
from upsides.recordings.bouts.bins import COUNT, STEP_MS


def _frame(rows: Rows) -> pl.DataFrame:
    return pl.DataFrame({name: getattr(rows, name) for name in ("horse", "day", "step", "metres", "strides", "source")})


@pytest.mark.parametrize("span", [100, 3_000_000], ids=["close together", "far apart"])
def test_days_are_laid_out_alike_however_far_apart_they_lie(span: int) -> None:
    """Whether horse-days are ticked off in one table or sorted, each stands once, in order of horse and day."""
    rng = np.random.default_rng(2)
    horse, day, step = rng.integers(0, 9, 300), rng.integers(1, span, 300), rng.integers(0, COUNT, 300)
    zero = np.zeros(300, dtype=np.int64)
    days = Days.of(Rows(horse, day, step, np.ones(300), zero.astype(float), zero))
    key, count = np.unique(keys(horse, day), return_counts=True)
    assert days.key.tolist() == key.tolist()
    assert days.each().tolist() == count.tolist()
    assert Days.of(Rows.joined([])).key.size == 0


def test_days_of_few_kinds_are_the_rows_of_their_profiles() -> None:
    """Days that come to one of a few profiles have the rows that each day's own profile has, in the same order; one
    without metres has a row of none."""
    rng = np.random.default_rng(4)
    profiles = np.where(rng.random((4, COUNT)) < 0.3, rng.uniform(1, 900, (4, COUNT)), 0.0)
    profiles[2] = 0.0
    horse, day, kind = rng.integers(0, 5, 60), rng.integers(1, 90, 60), rng.integers(0, 4, 60)
    few = Rows.of_kinds(horse, day, kind, profiles, "usual")
    row, step = np.nonzero((profiles[kind] > 0) | ((np.arange(COUNT) == 0) & (kind == 2)[:, None]))
    assert (few.horse.tolist(), few.day.tolist()) == (horse[row].tolist(), day[row].tolist())
    assert (few.step.tolist(), few.metres.tolist()) == (step.tolist(), profiles[kind[row], step].tolist())


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 2**32 - 1), st.integers(1, 90), st.integers(0, COUNT), st.integers(0, COUNT))
def test_every_sum_is_the_sum_of_its_rows(seed: int, window: int, one: int, other: int) -> None:
    """Metres and strides between two speeds over any window of days are what Polars adds up from the rows, the share
    measured is that of trackers, thumbs and results, and days are counted once."""
    rows = random_rows(np.random.default_rng(seed), 400, 5, 120)
    low, high = sorted((one, other))
    days, frame = Days.of(rows), _frame(rows)
    horse = np.repeat(np.arange(6), 3)
    until = np.tile(TODAY.toordinal() - np.array([0, 31, 200]), 6)
    found = days.sums(horse, until - window, until, low * STEP_MS, high * STEP_MS if high < COUNT else np.inf)
    for k in range(horse.size):
        inside = frame.filter(pl.col("horse") == horse[k], pl.col("day").is_between(until[k] - window + 1, until[k]))
        band = inside.filter(pl.col("step").is_between(low, high - 1))
        if high < COUNT - 1 or high == COUNT:
            assert found.metres[k] == pytest.approx(band["metres"].sum(), rel=1e-10, abs=1e-3)
            assert found.strides[k] == pytest.approx(band["strides"].sum(), rel=1e-10, abs=1e-3)
        assert found.told[k] == inside["day"].n_unique()
        total = inside["metres"].sum()
        share = inside.filter(pl.col("source") < MEASURED)["metres"].sum() / total if total else np.nan
        assert found.measured[k] == pytest.approx(share, rel=1e-10, nan_ok=True)


def test_the_last_step_has_no_upper_end() -> None:
    """What is faster than 22 m/s counts in the last step, and a band up to infinity holds it."""
    days = Days.of(rows_of([(0, TODAY, 21.9, 300.0), (0, TODAY, 14.2, 200.0)]))
    day = TODAY.toordinal()
    assert days.sums([0], day - 1, day, 14.0).metres[0] == pytest.approx(500.0)
    assert days.sums([0], day - 1, day, 14.0, 21.0).metres[0] == pytest.approx(200.0)
    assert days.each(14.0).tolist() == pytest.approx([500.0])


def test_windows_hold_their_last_day_and_not_the_one_before_their_first() -> None:
    """Of work on every day, 7 days hold 7, 30 hold 30 and 60 hold 60; work before entry is in no sum since entry."""
    listed = [(0, TODAY - timedelta(days=k), 9.2, 1000.0) for k in range(100)]
    entered = TODAY - timedelta(days=79)
    done = string_done(yard(listed, entered=entered), [0], TODAY)[0]
    assert [one.metres for one in done.windows] == pytest.approx([7e3, 30e3, 60e3, 80e3])
    assert [one.days for one in done.windows] == [7, 30, 60, None]
    assert [one.canter_m for one in done.windows] == pytest.approx([7e3, 30e3, 60e3, 80e3])
    assert {one.unknown for one in done.windows} == {0}
    assert done.windows[0].strides == pytest.approx(7e3 / 6)


def test_a_window_has_its_steps_of_speed() -> None:
    """A window's steps of half a metre a second add up to it, strides from the canter on; a step at which it did not
    go is left out."""
    listed = [(0, TODAY, 4.2, 900.0), (0, TODAY, 14.3, 200.0), (0, TODAY - timedelta(days=9), 14.3, 300.0),
              (0, TODAY - timedelta(days=80), 21.9, 10.0)]  # fmt: skip
    week, month, _two, since = string_done(yard(listed), [0], TODAY)[0].windows
    assert [(one.from_ms, round(one.metres), one.strides) for one in week.bins] == [
        (4.0, 900, None), (14.0, 200, pytest.approx(200 / 6)),
    ]  # fmt: skip
    assert [(one.from_ms, round(one.metres)) for one in month.bins] == [(4.0, 900), (14.0, 500)]
    assert [one.from_ms for one in since.bins] == [4.0, 14.0, 21.5]
    assert sum(one.metres for one in since.bins) == pytest.approx(since.metres)
    assert string_done(yard(listed), [0], TODAY - timedelta(days=200))[0].windows[0].bins == ()


def test_what_is_not_known_is_told() -> None:
    """Days without a word are counted, a window that begins before the horse was known is not whole, shares by source
    are kept apart, and a horse of which nothing is known has no share at all."""
    entered, known = TODAY - timedelta(days=300), TODAY - timedelta(days=20)
    one = yard([(0, TODAY, 9.2, 1000.0), (1, TODAY, 9.2, 0.0)], entered=entered, known_from=known)
    horse, other = string_done(one, [0, 1], TODAY)
    assert [(w.days, w.unknown, w.whole) for w in horse.windows] == [
        (7, 6, True), (30, 29, False), (60, 59, False), (None, 300, False),
    ]  # fmt: skip
    assert horse.windows[0].by_source == {"tracker": 1000.0}
    assert (other.windows[0].measured, other.windows[0].unknown) == (None, 6)


def test_a_profile_is_the_window_by_steps() -> None:
    """The steps of one horse's window add up to its sums, and each step is what Polars adds up."""
    rows = random_rows(np.random.default_rng(9), 400, 3, 60)
    days, day = Days.of(rows), TODAY.toordinal()
    metres, strides = days.profile(1, day - 30, day)
    frame = _frame(rows).filter(pl.col("horse") == 1, pl.col("day") > day - 30)
    summed = dict(frame.group_by("step").agg(pl.col("metres").sum()).iter_rows())
    assert metres.tolist() == pytest.approx([summed.get(step, 0.0) for step in range(COUNT)], abs=1e-3)
    assert strides.sum() == pytest.approx(days.sums([1], day - 30, day).strides[0])


def test_shares_by_who_says_so_add_up() -> None:
    """A day's metres by source add up to all its metres, and the share measured leaves out what was told or usual."""
    parts = [rows_of([(0, TODAY, 9.2, 100.0 * 2**k)], name) for k, name in enumerate(SOURCES)]
    days = Days.of(Rows.joined(parts))
    day = TODAY.toordinal()
    assert days.by_source([0], day - 1, day)[0].tolist() == pytest.approx([100.0, 200.0, 400.0, 800.0, 1600.0])
    assert days.sums([0], day - 1, day).measured[0] == pytest.approx(700 / 3100)


def test_this_week_stands_against_last_in_metres() -> None:
    """6 km this week, 1.5 of it fast, after 4 km last week: 2 km more and 1.5 km more fast work; there is no ratio."""
    listed = [(0, TODAY, 15.2, 1500.0), (0, TODAY - timedelta(days=6), 9.2, 4500.0),
              (0, TODAY - timedelta(days=7), 9.2, 4000.0), (0, TODAY - timedelta(days=14), 9.2, 9000.0)]  # fmt: skip
    week = string_done(yard(listed), [0], TODAY)[0].week
    assert (week.metres, week.before_m, week.fast_m, week.fast_before_m) == pytest.approx((6e3, 4e3, 1.5e3, 0.0))
    assert (week.more_m, week.fast_more_m) == pytest.approx((2e3, 1.5e3))


def test_a_horse_that_nobody_knows_has_nothing_and_no_days_since() -> None:
    """Without a row there are no metres, no fast work, no run and no lay-up, and no sum since entering."""
    one = yard([(1, TODAY, 15.2, 1500.0)], entered=None)
    done = string_done(one, [0], TODAY)[0]
    assert [w.metres for w in done.windows] == [0.0, 0.0, 0.0]
    assert (done.since_fast, done.since_run, done.laid_up, done.since_lay_up) == (None, None, None, None)
    assert string_done(one, [1], date(2026, 7, 4))[0].since_fast == 4


def test_before_anybody_was_out_sums_end_with_yesterday() -> None:
    """While nothing is known of the day itself windows, weeks and published sums end with the day before, so that a
    horse that goes a kilometre a day is not told a kilometre short; days since fast work still count to the day."""
    listed = [(0, TODAY - timedelta(days=back), 15.0, 1e3) for back in range(1, 40)]
    known = yard(listed)
    assert known.told_until(0, TODAY) == TODAY - timedelta(days=1)
    done = string_done(known, [0], TODAY, known.told_until(0, TODAY))[0]
    assert (done.until, done.week.metres, done.week.more_m) == (TODAY - timedelta(days=1), 7e3, 0.0)
    assert ([one.metres for one in done.windows[:2]], done.windows[0].unknown) == ([7e3, 30e3], 0)
    assert done.since_fast == 1
    for until, metres in ((None, 6e3), (done.until, 7e3)):
        held = {one.figure.key: one for one in string_held(known, [0], TODAY, [3], until=until)[0]}
        assert held["6 furlongs in a week"].parts[0].own == pytest.approx(metres)
    assert yard([*listed, (0, TODAY, 6.0, 500.0)]).told_until(0, TODAY) == TODAY
