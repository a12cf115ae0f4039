"""Where a value stands, held towards the wider group."""

import numpy as np
import pytest
from scipy.stats import median_abs_deviation, norm, percentileofscore

from upsides.errors import CannotFitError
from upsides.ratings.usual import learn_usual, stand


def sample(races: int, seed: int = 1) -> tuple[np.ndarray, list[str]]:
    values = np.random.default_rng(seed).normal(1.02, 0.03, races * 10)
    return values, [f"r{i // 10}" for i in range(races * 10)]


def test_with_many_races_it_is_the_plain_percentile() -> None:
    """Without holding, share below, centre and spread are SciPy's mean percentile, median and MAD."""
    values, races = sample(50)
    usual = learn_usual(values, races, ["c"] * 500, ["t"] * 500, held_by=0)
    asked = [0.97, values[3], 1.05]
    got = stand(usual, asked, ["c"] * 3, ["t"] * 3)
    assert got.share_below == pytest.approx([percentileofscore(values, a, "mean") / 100 for a in asked])
    assert got.centre == pytest.approx(np.full(3, np.median(values)))
    assert got.spread == pytest.approx(np.full(3, median_abs_deviation(values, scale="normal")), rel=1e-4)
    assert got.races.tolist() == [50, 50, 50]


def test_few_races_are_held_towards_the_trip() -> None:
    """Five own races against twenty to hold count a fifth; an unseen course is the trip's own answer."""
    values, races = sample(200)
    course = ["rare"] * 50 + ["usual"] * 1950
    usual = learn_usual(values + np.where(np.arange(2000) < 50, 0.1, 0), races, course, ["t"] * 2000)
    rare, unseen, common = stand(usual, [1.05] * 3, ["rare", "never seen", "usual"], ["t"] * 3).share_below
    assert rare == pytest.approx(0.2 * np.mean(values[:50] + 0.1 < 1.05) + 0.8 * unseen)
    assert unseen < common


def test_scores_of_a_normal_sample_are_standard() -> None:
    """Scores of normal values match the normal distribution's own quantiles."""
    values, races = sample(2000)
    usual = learn_usual(values, races, ["c"] * 20000, ["t"] * 20000)
    got = stand(usual, 1.02 + 0.03 * norm.ppf([0.1, 0.5, 0.9]), ["c"] * 3, ["t"] * 3)
    assert got.score == pytest.approx(norm.ppf([0.1, 0.5, 0.9]), abs=0.05)
    assert got.share_below == pytest.approx([0.1, 0.5, 0.9], abs=0.015)


def test_missing_values_stay_missing() -> None:
    """A missing value is neither learnt from nor judged, and nothing at all to learn from is refused."""
    usual = learn_usual([1.0, np.nan, 1.1], ["a", "b", "c"], ["x"] * 3, ["t"] * 3)
    assert usual.everything.races == 2
    assert np.isnan(stand(usual, [np.nan], ["x"], ["t"]).share_below).all()
    with pytest.raises(CannotFitError, match="section times"):
        learn_usual([np.nan], ["a"], ["x"], ["t"])
