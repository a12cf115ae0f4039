"""Chains of earlier runs, by hand."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from upsides.ratings.forecast import history

#                 a  b  a   a   -   b   a   -
CODE = np.array([0, 1, 0, 0, -1, 1, 0, -1])
DAY = np.array([1, 1, 5, 5, 5, 9, 12, 12])


def test_previous_skips_the_same_day_and_the_unnamed() -> None:
    """The last run of an earlier day counts, never one of the same day; no name, no run before."""
    assert history.previous(CODE, DAY).tolist() == [-1, -1, 0, 0, -1, 1, 3, -1]


def test_chain_goes_back_run_by_run() -> None:
    """Row by row the last runs, latest first, with -1 where there are no more."""
    before = history.previous(CODE, DAY)
    assert history.chain(before, 3)[6].tolist() == [3, 0, -1]
    assert history.chain(before, 2)[[0, 5]].tolist() == [[-1, -1], [1, -1]]


def test_at_is_missing_where_there_is_no_run() -> None:
    """A value looked up at no run is NaN."""
    found = history.at(np.array([10.0, 20.0]), np.array([1, -1]))
    np.testing.assert_array_equal(found, [20.0, np.nan])


def test_decayed_fades_by_the_time_constant() -> None:
    """Sums fade by exp(-days / constant) between runs; an unknown value is not counted."""
    code, day = np.zeros(4, dtype=np.int64), np.array([0, 10, 30, 60])
    x = np.array([2.0, np.nan, 4.0, 100.0])
    total, count = history.decayed(history.previous(code, day), day, x, 20.0)
    assert total == pytest.approx([0, 2 * np.exp(-0.5), 2 * np.exp(-1.5), 2 * np.exp(-3) + 4 * np.exp(-1.5)])
    assert count == pytest.approx([0, np.exp(-0.5), np.exp(-1.5), np.exp(-3) + np.exp(-1.5)])


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(st.integers(-1, 4), st.integers(0, 3)), min_size=1, max_size=40), st.floats(5.0, 500.0))
def test_decayed_is_the_sum_over_earlier_days(rows: list[tuple[int, int]], days: float) -> None:
    """Without two runs on a day, the fading sum is the sum over all earlier runs, each by its own age."""
    code = np.array([c for c, _ in rows], dtype=np.int64)
    day = np.cumsum([1 + gap for _, gap in rows])
    x = np.sin(np.arange(code.size))
    total, count = history.decayed(history.previous(code, day), day, x, days)
    for i in range(code.size):
        mine = (code[:i] == code[i]) & (code[i] >= 0)
        fade = np.exp(-(day[i] - day[:i]) / days)
        assert total[i] == pytest.approx((mine * fade * x[:i]).sum(), abs=1e-9)
        assert count[i] == pytest.approx((mine * fade).sum(), abs=1e-9)


def test_shrunk_is_a_mean_with_seen_and_unseen() -> None:
    """Two wins in five draw a prior of 0.1, worth five runs, to a quarter."""
    assert history.shrunk(np.array([2.0]), np.array([5.0]), 0.1, 5.0) == pytest.approx([0.25])
