"""Effect of the draw: published arithmetic, the 144 races of 1955, and simulated cells."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from upsides.errors import CannotFitError
from upsides.ratings.choice import fit_choice
from upsides.ratings.draw import (
    across,
    basis,
    fit_draw,
    share_beaten,
    share_beaten_variance,
    stall_place,
    stall_worth,
)

STALL_WINS = (29, 19, 18, 25, 17, 10, 15, 11)
"""Winners by stall in 144 eight-runner races of 1955 (Siegel, Nonparametric Statistics, 1956)."""


def eight_runner_races() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    winner = np.repeat(np.arange(8), STALL_WINS)
    position = (np.arange(8) == winner[:, None]).astype(float).ravel()
    return np.tile(across(np.arange(1, 9), 8), 144), np.arange(0, 144 * 8 + 1, 8), position


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


@pytest.mark.parametrize(("sd", "slope"), [(0.2, -0.314750), (0.3, -0.480483), (0.5, -0.659378)])
def test_one_cell_is_the_published_shrunken_slope(sd: float, slope: float) -> None:
    """With everything in one cell the slope is the one worked out for a normal prior on the 144 races."""
    d, offsets, position = eight_runner_races()
    fit = fit_draw(d, offsets, position, [()] * 144, place_weights=(1.0,), whole_sd=sd, bend=False)
    assert fit.mean[()] == pytest.approx([slope], abs=1e-6)
    assert fit.races[()] == 144


def test_a_wide_prior_gives_the_published_slope_and_error() -> None:
    """Without shrinking the slope is -0.836751 with error 0.260490."""
    d, offsets, position = eight_runner_races()
    fit = fit_draw(d, offsets, position, [()] * 144, place_weights=(1.0,), whole_sd=1e4, bend=False)
    assert fit.mean[()] == pytest.approx([-0.836751], abs=1e-6)
    assert np.sqrt(fit.covariance[()].item()) == pytest.approx(0.260490, abs=1e-6)


def simulated(
    rng: np.random.Generator, slopes: np.ndarray, races: int, runners: int = 10
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray, list[tuple[str, ...]]]:
    """Run races in cells with known slopes; strengths are known too."""
    n = len(slopes) * races
    d = np.tile(across(np.arange(1, runners + 1), runners), n).reshape(n, runners)
    strength = rng.normal(0, 1, (n, runners))
    score = strength + np.repeat(slopes, races)[:, None] * d + rng.gumbel(size=(n, runners))
    position = np.argsort(np.argsort(-score, axis=1), axis=1) + 1.0
    paths = [(f"c{cell // 6}", f"t{cell}") for cell in np.repeat(np.arange(len(slopes)), races)]
    return d.ravel(), np.arange(0, n * runners + 1, runners), position.ravel(), strength.ravel(), paths


def test_simulated_cells_are_recovered_with_honest_intervals() -> None:
    """Of 48 known slopes 80 % intervals cover about 80 %, and pooling beats each cell on its own."""
    rng = np.random.default_rng(12)
    slopes = np.repeat(rng.normal(0, 0.3, 8), 6) + rng.normal(0, 0.3, 48)
    d, offsets, position, strength, paths = simulated(rng, slopes, races=30)
    fit = fit_draw(d, offsets, position, paths, strength=strength)
    cells = [(f"c{cell // 6}", f"t{cell}") for cell in range(48)]
    found = np.array([fit.mean[cell][0] for cell in cells])
    sd = np.array([np.sqrt(fit.covariance[cell][0, 0]) for cell in cells])
    covered = np.abs(found - slopes) < 1.2816 * sd
    assert 0.65 < covered.mean() < 0.95
    alone = np.array(
        [
            fit_choice(
                basis(d[c * 300 : c * 300 + 300]),
                offsets[:31],
                position[c * 300 : c * 300 + 300],
                offset=strength[c * 300 : c * 300 + 300],
                place_weights=(1, 1, 1),
            ).coefficients[0]
            for c in range(48)
        ]
    )
    assert np.mean((found - slopes) ** 2) < np.mean((alone - slopes) ** 2)
    assert fit.spread[1, 0] == pytest.approx(0.3, abs=0.12)
    assert fit.races[("c0",)] == 180


def test_no_bias_gives_no_spread() -> None:
    """Where the draw does nothing the cells are pooled to almost nothing and intervals cover zero."""
    rng = np.random.default_rng(13)
    d, offsets, position, strength, paths = simulated(rng, np.zeros(24), races=20)
    fit = fit_draw(d, offsets, position, paths, strength=strength)
    slopes = np.array([mean[0] for mean in fit.mean.values()])
    errors = np.array([np.sqrt(covariance[0, 0]) for covariance in fit.covariance.values()])
    assert np.abs(slopes).mean() < 0.15
    assert np.abs(slopes / errors).max() < 3
    worth = stall_worth(fit, ("c0", "t3"), 10, 0.08)
    assert np.all((worth.low < 0) & (worth.high > 0))


def test_an_unseen_cell_is_the_cell_above_with_more_doubt() -> None:
    """A going never raced on is answered by its trip; a course never raced at by the whole."""
    rng = np.random.default_rng(14)
    d, offsets, position, strength, paths = simulated(rng, rng.normal(0.3, 0.3, 12), races=20)
    fit = fit_draw(d, offsets, position, paths, strength=strength)
    mean, covariance = fit.at(("c0", "never"))
    assert mean == pytest.approx(fit.mean[("c0",)])
    assert np.diag(covariance) == pytest.approx(np.diag(fit.covariance[("c0",)]) + fit.spread[1] ** 2)
    assert fit.at(("nowhere", "never"))[0] == pytest.approx(fit.mean[()])


def test_stalls_in_pounds_are_logits_over_logits_a_pound() -> None:
    """Worth in pounds is the logit against the field's average over a pound's logit, and sums to nothing."""
    d, offsets, position = eight_runner_races()
    fit = fit_draw(d, offsets, position, [()] * 144, place_weights=(1.0,), whole_sd=1e4, bend=False)
    worth = stall_worth(fit, (), 8, 0.08)
    assert worth.lb[0] == pytest.approx(0.836751 / 2 / 0.08, abs=1e-4)
    assert worth.lb.sum() == pytest.approx(0, abs=1e-9)
    assert worth.high[0] - worth.lb[0] == pytest.approx(1.2816 * 0.260490 / 2 / 0.08, abs=1e-3)


def test_paths_must_match_the_races() -> None:
    """Cells of unequal depth are refused."""
    d, offsets, position = eight_runner_races()
    with pytest.raises(CannotFitError, match="one cell, all of one depth"):
        fit_draw(d, offsets, position, [("a",)] * 143 + [()])
