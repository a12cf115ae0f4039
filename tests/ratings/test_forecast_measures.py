"""What a place, a margin and a time say about a run."""

from datetime import date

import numpy as np
import polars as pl
import pytest
from scipy.stats import norm

from upsides.errors import CannotFitError
from upsides.ratings.forecast import measures
from upsides.ratings.forecast.starters import Starters, centred, distance_band, groups, race_mean, starters_from


def field(distance_m: float | None = 1408.176, **columns: list[object]) -> Starters:
    """Return one race whose runs have `columns`."""
    n = len(next(iter(columns.values())))
    races = pl.DataFrame({"race_key": ["r"], "date": [date(2001, 5, 1)], "distance_m": [distance_m]})
    base = {"race_key": ["r"] * n, "horse_key": [f"h{i}" for i in range(n)], "saddlecloth": list(range(1, n + 1))}
    return starters_from(races, pl.DataFrame(base | columns))


def test_pounds_per_length_at_seven_furlongs() -> None:
    """A length is 15/7 lb at seven furlongs whatever the power, and with power 1 15 lb over the furlongs."""
    # 15 lb / furlongs is the convention of the check fit on `hk1997`; the power is this project's own choice.
    assert measures.pounds_per_length(field(7 * 201.168, position=[1, 2])) == pytest.approx(15 / 7)
    assert measures.pounds_per_length(field(5 * 201.168, position=[1, 2]), power=1.0) == pytest.approx(3.0)
    assert measures.pounds_per_length(field(None, position=[1, 2])) == pytest.approx(15 / 7)


@pytest.mark.parametrize("n", [2, 5, 14])
def test_normal_scores_are_bloms(n: int) -> None:
    """The score of place i of n is minus the normal quantile of (i - 3/8) / (n + 1/4)."""
    # Blom (1958), Statistical Estimates and Transformed Beta-Variables; quantile by scipy.stats.norm.
    place = np.arange(1, n + 1)
    found = measures.normal_scores(field(position=place.tolist()))
    assert found == pytest.approx(-norm.ppf((place - 0.375) / (n + 0.25)))
    assert found.sum() == pytest.approx(0, abs=1e-12)


def test_normal_scores_of_odd_places_stay_finite() -> None:
    """An unknown place counts as the last; a place beyond the field, as where rows were left out, likewise."""
    found = measures.normal_scores(field(position=[1, 9, None]))
    last = -norm.ppf((3 - 0.375) / 3.25)
    assert found[1:] == pytest.approx([last, last])


def test_lengths_come_from_margins_then_times_then_a_guess() -> None:
    """A published margin goes first, then own time at 0.16 s a length, then 20 lengths; 40 at most."""
    runs = field(
        beaten_lengths=[0.0, 2.5, None, None, 99.0],
        time_s=[80.0, 80.4, 80.8, None, 90.0],
    )
    assert measures.lengths_behind(runs) == pytest.approx([0, 2.5, 5, 20, 40])


def test_performance_falls_with_lengths_and_is_centred() -> None:
    """Further behind is worse, the race's mean is nothing, and twice as far counts for less than twice."""
    y = measures.performance(field(beaten_lengths=[0.0, 5.0, 10.0]))
    assert y.sum() == pytest.approx(0, abs=1e-12)
    assert 0 < y[1] - y[2] < y[0] - y[1]


def test_all_dead_heats_are_a_performance_of_nothing() -> None:
    """A race in which nobody was beaten tells nobody apart, and nothing divides by its spread of 0."""
    assert not measures.performance(field(beaten_lengths=[0.0, 0.0, 0.0])).any()


def test_weight_before_claims_by_hand() -> None:
    """A horse above another on the card had at least its weight, so the rest was claimed."""
    runs = field(saddlecloth=[1, 2, 3, 4], carried_lb=[126.0, 133.0, 113.0, 120.0])
    assert measures.carried_before_claim(runs).tolist() == [133, 133, 120, 120]


def test_weight_before_claims_needs_the_card() -> None:
    """Without a saddlecloth nothing is implied; without a weight nothing is known."""
    runs = field(saddlecloth=[None, None, None], carried_lb=[126.0, 133.0, None])
    assert np.nan_to_num(measures.carried_before_claim(runs)).tolist() == [126, 133, 0]
    runs = field(saddlecloth=[1, 2, 3], carried_lb=[126.0, None, 130.0])
    assert np.nan_to_num(measures.carried_before_claim(runs)).tolist() == [130, 0, 130]


def test_clocked_moves_the_winner_to_the_pace() -> None:
    """A race run a length (0.16 s) faster stands a length's pounds higher; no time, no pace."""
    margins = {"beaten_lengths": [0.0, 3.0]}
    slow, fast = field(time_s=[84.0, 84.48], **margins), field(time_s=[83.84, 84.32], **margins)
    y = measures.performance(slow)
    assert measures.clocked(fast, y) - measures.clocked(slow, y) == pytest.approx([15 / 7, 15 / 7])
    assert np.isnan(measures.clocked(field(**margins), y)).all()


def test_starters_only() -> None:
    """Withdrawn horses, walk-overs and jump races are left out; names are numbered as they first appear."""
    races = pl.DataFrame(
        {
            "race_key": ["b", "a", "c", "d"],
            "date": [date(2001, 5, 2), date(2001, 5, 1), date(2001, 5, 3), date(2001, 5, 4)],
            "code": ["flat", None, "hurdle", "flat"],
            "surface": ["dirt", "turf", "turf", "turf"],
        }
    )
    runs = pl.DataFrame(
        {
            "race_key": ["b", "b", "b", "a", "a", "c", "c", "d"],
            "horse_key": ["x", "y", "z", "y", "w", "x", "y", "x"],
            "outcome": ["finished", "fell", "withdrawn", *["finished"] * 5],
            "draw": [1, 2, 3, 2, 1, 1, 2, 1],
        }
    )
    table = starters_from(races, runs)
    assert table.race_key.tolist() == ["a", "b"]
    assert table.size.tolist() == [2, 2]
    assert table.surface.tolist() == [0, 1]
    assert table.horse.tolist() == [0, 1, 2, 1]
    assert (table.jockey == -1).all()
    assert np.isnan(table.mass).all()


def test_a_number_that_cannot_be_is_unknown() -> None:
    """A prize, mass, weight or time of 0 or less is as good as none."""
    runs = field(time_s=[0.0, -1.0], carried_lb=[0.0, 120.0], body_mass_kg=[0.0, 480.0])
    assert np.isnan(runs.time_s).all()
    assert np.isnan([runs.carried[0], runs.mass[0]]).all()


def test_runs_without_horses_are_refused() -> None:
    """Runs that do not say which horse ran are refused by the column's name, not rated as one unknown horse."""
    races = pl.DataFrame({"race_key": ["r"], "date": [date(2001, 5, 1)]})
    with pytest.raises(CannotFitError, match="horse_key"):
        starters_from(races, pl.DataFrame({"race_key": ["r", "r"], "position": [1, 2]}))


def test_means_groups_and_bands_by_hand() -> None:
    """Means leave the unknown out; combinations are numbered; trips go in steps of 200 m."""
    runs = field(1390.0, draw=[1, 2, None])
    assert race_mean(runs, runs.draw).tolist() == [1.5] * 3
    assert centred(runs, runs.draw).tolist() == [-0.5, 0.5, 0.0]
    assert groups(np.array([0, 1, 0, -1]), np.array([2, 2, 2, 0])).tolist()[3] == -1
    pair = groups(np.array([0, 1, 0]), np.array([2, 2, 2]))
    assert pair[0] == pair[2] != pair[1]
    assert distance_band(runs).tolist() == [7]
    assert distance_band(field(None, draw=[1, 2])).tolist() == [-1]
