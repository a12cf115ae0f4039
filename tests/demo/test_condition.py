"""What work and racing do to the invented horses, held to closed forms on what is published and stored."""

import numpy as np
import polars as pl
import pytest

from upsides.demo import Invented

OTHER_PARTS = ("level_lb", "trip_lb", "going_lb", "surface_lb", "draw_lb", "rider_lb")


@pytest.fixture(scope="module")
def starts(invented: Invented) -> pl.DataFrame:
    """Every start with its truth, what its horse is, its race's distance and the days since the horse's last run."""
    what = invented.truth_horses.select("source_horse", "constitution", "response")
    found = invented.truth.drop_nulls("race_key").join(what, on="source_horse")
    found = found.join(invented.races.select("race_key", "distance_m"), on="race_key").sort("source_horse", "date")
    return found.with_columns(
        days=pl.col("date").diff().dt.total_days().over("source_horse"),
        last_m=pl.col("distance_m").shift().over("source_horse"),
    )


def test_freshness_is_the_sum_of_what_earlier_races_left(starts: pl.DataFrame) -> None:
    """Each earlier race takes 4.5 (D / 1600 m)^0.6 lb, gone with a time constant of 12 days over the constitution."""
    # The sum over all earlier starts, against the recursion that the simulator keeps.
    for horse in starts["source_horse"].unique(maintain_order=True)[:200]:
        own = starts.filter(pl.col("source_horse") == horse)
        day = own["date"].to_physical().to_numpy().astype(float)
        gone = day[:, None] - day[None, :]
        left = 4.5 * (own["distance_m"].to_numpy() / 1600) ** 0.6 * np.exp(-gone * own["constitution"][0] / 12.0)
        expected = -np.where(gone > 0, left, 0.0).sum(axis=1)
        np.testing.assert_allclose(own["fresh_lb"].to_numpy(), expected, atol=1e-9)


def test_fitness_is_the_response_to_work_and_levels_off(starts: pl.DataFrame) -> None:
    """Pounds gained by work are response (1 - exp(-work / 1.2)), work being 0 to 3 fast days a week."""
    work = starts["work_days"].to_numpy()
    expected = starts["response"].to_numpy() * (1 - np.exp(-work / 1.2))
    np.testing.assert_allclose(starts["fit_lb"].to_numpy(), expected, atol=1e-9)
    assert 0 <= work.min() < work.max() <= 3


def test_both_are_worth_their_pounds_in_the_figures(starts: pl.DataFrame) -> None:
    """A regression of what figures leave over on freshness and fitness finds 1 for each within four standard errors."""
    left_over = (starts["figure_lb"] - starts.select(pl.sum_horizontal(OTHER_PARTS)).to_series()).to_numpy()
    design = np.column_stack([np.ones(starts.height), starts["fit_lb"], starts["fresh_lb"]])
    found, squares, *_ = np.linalg.lstsq(design, left_over, rcond=None)
    se = np.sqrt(np.diag(np.linalg.inv(design.T @ design)) * squares[0] / (starts.height - 3))
    assert (np.abs(found[1:] - 1.0) < 4 * se[1:]).all()
    assert (se[1:] < 0.1).all()  # so that 0 is far away


def test_the_effects_are_modest(starts: pl.DataFrame) -> None:
    """Between the 5th and the 95th start in a hundred, fitness and freshness together differ by 2 to 6 lb."""
    both = starts["fit_lb"] + starts["fresh_lb"]
    assert 2.0 < float(both.quantile(0.95)) - float(both.quantile(0.05)) < 6.0


def test_a_weak_constitution_takes_longer(starts: pl.DataFrame) -> None:
    """Run again within twenty days, weak constitutions miss at least a pound more than strong ones on average."""
    soon = starts.filter(pl.col("days") <= 20)
    weak, strong = soon.filter(pl.col("constitution") < 0.75), soon.filter(pl.col("constitution") > 1.3)
    assert min(weak.height, strong.height) > 200
    assert float(weak["fresh_lb"].mean()) < float(strong["fresh_lb"].mean()) - 1.0


def test_a_long_race_takes_more(starts: pl.DataFrame) -> None:
    """Twelve to sixteen days after a race, more is missing the longer that race was."""
    soon = starts.filter(pl.col("days").is_between(12, 16), pl.col("constitution").is_between(0.8, 1.25))
    short, long = soon.filter(pl.col("last_m") <= 1200), soon.filter(pl.col("last_m") >= 2000)
    assert min(short.height, long.height) > 100
    assert float(long["fresh_lb"].mean()) < float(short["fresh_lb"].mean()) - 0.5


def test_a_horse_let_down_comes_back_with_less_work(starts: pl.DataFrame) -> None:
    """Under each habit the first run after a break of ten weeks finds less recent work than runs in between."""
    back = starts.filter(pl.col("days") >= 70).group_by("habit").agg(back=pl.col("work_days").mean())
    usual = starts.filter(pl.col("days") < 50).group_by("habit").agg(usual=pl.col("work_days").mean())
    both = back.join(usual, on="habit")
    assert both.height == 6
    assert (both["back"] < both["usual"]).all()


def test_horses_in_training_have_a_condition_today(invented: Invented) -> None:
    """Today's truth says how fit and fresh each horse of the string is."""
    today = invented.truth.filter(pl.col("race_key").is_null())
    own = today.filter(pl.col("source_horse").is_in(invented.string["source_horse"].implode()))
    assert own.height == invented.string.height
    assert own.select(pl.col("fit_lb", "fresh_lb", "work_days").null_count().sum()).row(0) == (0, 0, 0)
    assert (own["fit_lb"] >= 0).all()
    assert (own["fresh_lb"] <= 0).all()
