"""Blood results: the reference change value, and when a horse's own results say anything."""

import numpy as np
import pytest

from upsides.condition.monitoring.own_change import own_change, reference_change, variation_within
from upsides.errors import ConditionRefusedError

DAYS = np.arange(8) * 14
STEADY = np.array([300.0, 306.0, 297.0, 301.0, 304.0, 299.0, 300.0, 355.0])


def test_reference_change_value() -> None:
    """Three per cent of the analysis and five within the horse make 16.163 per cent (biologicalvariation.com)."""
    assert reference_change(3.0, 5.0) == pytest.approx(16.163, abs=1e-3)


def test_reference_change_value_by_simulation() -> None:
    """Two results of a horse in which nothing changes lie within it 95 times in a hundred, within four errors."""
    rng = np.random.default_rng(5)
    n = 200_000
    one, other = (rng.normal(0, 5.0, n) + rng.normal(0, 3.0, n) for _ in range(2))
    share = np.mean(np.abs(one - other) < reference_change(3.0, 5.0))
    assert abs(share - 0.95) < 4.0 * np.sqrt(0.95 * 0.05 / n)


def test_own_results_say_something_after_six() -> None:
    """With seven earlier results a rise of 18 per cent is beyond its change value though within the interval."""
    found = own_change(DAYS, STEADY, (200.0, 400.0), 3.0, 5.0)
    assert (found.outside, found.changed, found.own) == ("", True, 7)
    assert found.change == pytest.approx(100 * (355 / 300 - 1))
    assert found.usual == pytest.approx(300.0)


def test_few_results_leave_only_the_laboratory() -> None:
    """With five earlier results, or after a gap of more than a fortnight, nothing is said but the interval."""
    few = own_change(DAYS[:6], STEADY[[0, 1, 2, 3, 4, 7]], (200.0, 350.0), 3.0, 5.0)
    late = own_change(np.r_[DAYS[:7], DAYS[7] + 15], STEADY, (200.0, np.nan), 3.0, 5.0)
    assert (few.outside, few.changed, few.own) == ("above", False, 5)
    assert (late.outside, late.changed, late.own) == ("", False, 0)
    assert np.isnan([few.usual, few.change, late.change]).all()


def test_below_the_interval() -> None:
    """A result under the laboratory's lower end is told as below it."""
    assert own_change(DAYS[:1], np.array([150.0]), (200.0, 400.0), 3.0, 5.0).outside == "below"


@pytest.mark.parametrize(
    ("days", "values", "cvi", "word"),
    [([0, 1], [3.0, -1.0], 5.0, "blood result"), ([], [], 5.0, "blood result"), ([1, 0], [3.0, 3.0], 5.0, "days"),
     ([0], [3.0], -1.0, "variation within a horse")],
)  # fmt: skip
def test_what_cannot_be_is_refused(days: list[int], values: list[float], cvi: float, word: str) -> None:
    """A result below nought, none at all, days out of order and a negative variation are named and refused."""
    with pytest.raises(ConditionRefusedError, match=word):
        own_change(np.array(days), np.array(values), (0.0, 9.0), 3.0, cvi)


def test_how_far_results_of_one_horse_differ() -> None:
    """Over forty horses of very unlike means the variation within them is found, whatever lies between them.

    Lognormal with s = 0.1 has a coefficient of variation of 100 sqrt(exp(0.01) - 1) = 10.025 per cent.
    """
    rng = np.random.default_rng(7)
    horse = np.repeat(np.arange(40), 25)
    value = np.exp(rng.normal(5, 1, 40)[horse] + rng.normal(0, 0.1, horse.size))
    assert variation_within(horse, value) == pytest.approx(10.025, rel=4 / np.sqrt(2 * 960))
    assert variation_within(horse[:20], value[:20]) is None
    assert variation_within(np.arange(500), np.ones(500)) is None
