"""Stalls as places among the actual runners, and the 144 races of 1955."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from upsides.errors import CannotFitError
from upsides.ratings.choice import fit_choice
from upsides.ratings.draw.places import across, seen_by_stall, share_beaten, share_beaten_variance, stall_place

STALL_WINS = (29, 19, 18, 25, 17, 10, 15, 11)
"""Winners by stall in 144 eight-runner races of 1955 (Siegel, Nonparametric Statistics, 1956)."""


def eight_runner_races() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    winner = np.repeat(np.arange(8), STALL_WINS)
    behind = np.argsort(np.argsort(np.arange(8)[None, :] == winner[:, None], axis=1, kind="stable"), axis=1)
    return np.tile(np.arange(1, 9), 144), np.arange(0, 144 * 8 + 1, 8), (8.0 - behind).ravel()


def test_place_across_the_stalls_by_arithmetic() -> None:
    """Fifth of twelve actual runners is the worked -0.136364; the outermost are a half either side."""
    assert across(5, 12) == pytest.approx(-0.136364, abs=5e-7)
    assert across([1, 12], 12).tolist() == [-0.5, 0.5]
    assert across(1, 1) == 0


def test_stalls_are_counted_among_actual_starters() -> None:
    """Withdrawn stalls close up, race by race, in whatever order the rows stand."""
    place, runners = stall_place([9, 2, 5, 3, 1], [0, 3, 5])
    assert place.tolist() == [3, 1, 2, 2, 1]
    assert runners.tolist() == [3, 3, 3, 2, 2]
    with pytest.raises(CannotFitError, match="given twice"):
        stall_place([4, 4], [0, 2])


def test_share_of_rivals_beaten_by_arithmetic() -> None:
    """Third of ten, and sharing second of eight, as worked; variance under chance for eight runners."""
    assert share_beaten(3, 10) == pytest.approx(0.777778, abs=5e-7)
    assert share_beaten(2.5, 8) == pytest.approx(0.785714, abs=5e-7)
    assert share_beaten_variance(8) == pytest.approx(0.107143, abs=5e-7)


@given(st.integers(2, 40))
def test_share_beaten_has_the_stated_mean_and_variance(runners: int) -> None:
    """Over all places the mean is a half and the variance the closed form."""
    share = share_beaten(np.arange(1, runners + 1), runners)
    assert share.mean() == pytest.approx(0.5)
    assert share.var() == pytest.approx(share_beaten_variance(runners))


def test_winners_of_144_races_by_stall() -> None:
    """Chi-square 16.3333 with 7 degrees, p 0.02224; the slope of a winner's logit -0.836751 with error 0.260490."""
    seen = seen_by_stall(*eight_runner_races())
    assert (seen.races, seen.degrees) == (144, 7)
    assert [one.wins for one in seen.stalls] == list(STALL_WINS)
    assert seen.chi_square == pytest.approx(16.3333, abs=5e-5)
    assert seen.p == pytest.approx(0.02224, abs=5e-6)
    assert seen.slope == pytest.approx(-0.836751, abs=1e-6)
    assert seen.slope_se == pytest.approx(0.260490, abs=1e-6)


@pytest.mark.parametrize(("sd", "slope"), [(0.2, -0.314750), (0.3, -0.480483), (0.5, -0.659378)])
def test_a_slope_is_drawn_to_nought_as_published(sd: float, slope: float) -> None:
    """With a normal prior on the 144 races the slope is the one worked out for each width of the prior."""
    stall, offsets, position = eight_runner_races()
    fit = fit_choice(across(stall, 8)[:, None], offsets, position, prior_precision=sd**-2)
    assert fit.coefficients == pytest.approx([slope], abs=1e-6)


def test_dead_heaters_share_places_and_wins() -> None:
    """Two that share the win count a half each, and a place and a half each in the share of rivals beaten."""
    seen = seen_by_stall([1, 2, 3], [0, 3], [1, 1, 3])
    assert [one.wins for one in seen.stalls] == [0.5, 0.5, 0.0]
    assert [one.beaten for one in seen.stalls] == [0.75, 0.75, 0.0]
