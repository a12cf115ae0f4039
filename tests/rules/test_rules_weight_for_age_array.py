"""Weight for age for arrays: the same answers as one by one, nothing silently missing, an honest count."""

from datetime import date

import numpy as np
import pytest

from upsides.errors import UpsidesError
from upsides.rules import override, weight_for_age, weight_for_age_lb

POUND_KG = 0.45359237


def one_by_one(jurisdiction: str, on: date, metres: float, age: int) -> float:
    try:
        got = weight_for_age(jurisdiction, on, metres, age)
        mature = weight_for_age(jurisdiction, on, metres, 20) if got.form == "weight" else None
    except UpsidesError:
        return 0.0
    value = mature.value - got.value if mature else got.value
    return value / POUND_KG if got.unit == "kg" else value


@pytest.mark.parametrize("jurisdiction", ["GB", "JP", "US", "AU", "HK", "SG"])
def test_arrays_agree_with_single_questions(jurisdiction: str) -> None:
    """The array form gives what single questions give, and nothing where they refuse."""
    rng = np.random.default_rng(11)
    days = np.datetime64("1950-01-01") + rng.integers(0, 30000, 1500)
    metres = rng.choice([1000.0, 1200.0, 1600.0, 1601.0, 2012.0, 2199.0, 2200.0, 2414.0, 3200.0], 1500)
    ages = rng.integers(2, 8, 1500)
    got, report = weight_for_age_lb(jurisdiction, days, metres, ages)
    want = [
        one_by_one(jurisdiction, day, float(m), int(a)) for day, m, a in zip(days.tolist(), metres, ages, strict=True)
    ]
    np.testing.assert_allclose(got, want, rtol=1e-12, atol=1e-12)
    assert report.rows == 1500
    assert report.covered + report.unknown + report.no_rule + report.not_published == 1500


def test_published_values_in_pounds() -> None:
    """Published points come out in pounds: 10 lb (Europe 2017), 3 kg (Japan 2005), 12.5 kg.

    Source: Australia 2014.
    """
    for jurisdiction, day, metres, age, pounds in [
        ("GB", "2017-07-08", 2011.68, 3, 10.0),
        ("JP", "2005-10-02", 2400.0, 3, 3 / POUND_KG),
        ("AU", "2014-02-12", 1000.0, 2, 12.5 / POUND_KG),
    ]:
        got, report = weight_for_age_lb(jurisdiction, [day], [metres], [age])
        assert got[0] == pytest.approx(pounds, abs=1e-12)
        assert report.outside == 0


def test_north_america_becomes_the_difference_from_the_oldest() -> None:
    """In June over 6 furlongs a three-year-old carries 120 and the oldest 132 lb.

    Source: scales of 1953 and 1935.
    """
    got, _ = weight_for_age_lb("North America", ["1953-06-10"], [1207.008], [3])
    assert got[0] == 12


def test_every_row_outside_is_counted_by_its_reason() -> None:
    """Rows without date, distance or age, on days without a rule, and outside the scale are counted apart."""
    days = np.array(["2018-07-01", "NaT", "2018-07-01", "2018-07-01", "1980-07-01", "2018-11-01"], "M8[D]")
    metres = np.array([1609.344, 1609.344, np.nan, 1609.344, 1609.344, 1609.344])
    ages = np.array([4, 3, 3, 0, 3, 3])
    got, report = weight_for_age_lb("GB", days, metres, ages)
    assert (report.covered, report.unknown, report.no_rule, report.not_published) == (1, 3, 1, 1)
    assert report.outside == 5
    assert not got.any()
    assert "1 of 6 runs are covered" in str(report)


def test_no_scale_at_all_gives_zeros_and_says_so() -> None:
    """A country without any scale gets zeros, and the report carries the rule that says why."""
    got, report = weight_for_age_lb("SG", ["2018-07-01"] * 3, [1200.0] * 3, [3] * 3)
    assert not got.any()
    assert report.no_rule == 3
    assert "No weight-for-age scale is known" in report.rules[0].note


def test_hong_kong_carries_its_rule() -> None:
    """Hong Kong is covered by the rule that it allows nothing but 5 lb to two-year-olds in handicaps."""
    days, metres = ["2018-07-01"] * 2, [1200.0] * 2
    got, report = weight_for_age_lb("HK", days, metres, [2, 3], race_class="handicap")
    assert got.tolist() == [5, 0]
    assert report.outside == 0
    assert "No weight-for-age scale" in report.rules[0].note


def test_no_runs_at_all() -> None:
    """An empty array is answered with an empty array."""
    got, report = weight_for_age_lb("GB", np.array([], "M8[D]"), [], [])
    assert got.shape == (0,)
    assert report.rows == 0
    assert "all 0 runs" in str(report)


def test_a_yards_own_value_reaches_the_array() -> None:
    """A yard's own point replaces the shipped one in the array form too, and only there."""
    mine = override(
        "weight for age",
        "invented point",
        "Britain",
        "invented for this test",
        shape="points",
        form="allowance",
        unit="lb",
        step="half-month",
        distance_rule="nearest furlong",
        points=[{"furlongs": 8, "age": 3, "step": "Jul1", "value": 99}],
    )
    days = ["2018-07-01", "2018-07-20"]
    got, report = weight_for_age_lb("GB", days, [1609.344] * 2, [3, 3], overrides=mine)
    plain, _ = weight_for_age_lb("GB", days, [1609.344] * 2, [3, 3])
    assert got[0] == 99
    assert got[1] == plain[1]
    assert any(rule.origin.startswith("yard") for rule in report.rules)
