"""Runs in which a horse was not asked, and gallops and trials: censored where not asked, evidence where asked."""

from datetime import timedelta

import numpy as np
import polars as pl
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from upsides.ratings.levels import easing
from upsides.ratings.levels.fitting import Levels, figures, fit_levels, level_curves
from upsides.ratings.levels.told import OUTING, Outing, Told
from worlds import world

FAR = 20.0


@pytest.mark.parametrize("y", [-60.0, -5.0, 0.0, 4.0, 15.0])
def test_a_censored_run_is_a_bound(y: float) -> None:
    """Mean and variance after "at least y" are those of integrating the normal belief times the chance of at least y;
    far below what was expected nothing moves at all."""
    uncertainty, noise = 25.0, 49.0

    def weight(level: float) -> float:
        return float(norm.pdf(level, 0.0, uncertainty**0.5) * norm.cdf((level - y) / noise**0.5))

    total, first, second = (quad(lambda x, k=k: x**k * weight(x), -60, 60)[0] for k in range(3))
    found = easing.censored(*(np.array([one]) for one in (y, 0.0, uncertainty, noise)))
    after = 1.0 / (1.0 / uncertainty + 1.0 / found.variance[0])
    assert after * found.y[0] / found.variance[0] == pytest.approx(first / total, abs=1e-4)
    assert after == pytest.approx(second / total - (first / total) ** 2, rel=1e-4)
    assert first / total > -1e-9


@pytest.fixture(scope="module")
def seasons() -> tuple[pl.DataFrame, pl.DataFrame]:
    """The last half year of the invented country."""
    w = world()
    since = w.today - timedelta(days=180)
    return (w.races.filter(pl.col("date") >= since),
            w.runs.filter(pl.col("date") >= since).with_columns(horse_key=pl.col("source_horse")))  # fmt: skip


@pytest.fixture(scope="module")
def plain(seasons: tuple[pl.DataFrame, pl.DataFrame]) -> Levels:
    """The fit without a word."""
    return fit_levels(*seasons)


def two(seasons: tuple[pl.DataFrame, pl.DataFrame]) -> tuple[str, str]:
    """Return two horses that have run often and lately."""
    runs = seasons[1].filter(pl.col("outcome") == "finished").group_by("horse_key").len().sort("len", "horse_key")
    return runs["horse_key"][-1], runs["horse_key"][-2]


def level(fit: Levels, key: str) -> tuple[float, float]:
    row = level_curves(fit, world().today).filter(pl.col("horse_key") == key, pl.col("date") == world().today)
    return row["level_lb"][0], row["sd_lb"][0]


def test_a_trial_far_behind_counts_where_it_was_asked(
    seasons: tuple[pl.DataFrame, pl.DataFrame], plain: Levels
) -> None:
    """Twenty lengths behind its equal in a trial yesterday: not asked its level moves by no tenth of what is not known
    of it, asked it falls by more; no trial stands among figures."""
    mine, other = two(seasons)
    day = world().today - timedelta(days=1)
    before, sd = level(plain, mine)
    after = {}
    for asked in (False, True):
        fit = fit_levels(*seasons, told=Told(outings=(Outing(day, 1000.0, mine, other, FAR, asked=asked),)))
        after[asked] = level(fit, mine)[0]
        assert not figures(fit)["race_key"].str.starts_with(OUTING).any()
    assert after[False] > before - 0.1 * sd
    assert after[True] < before - 0.3 * sd


def test_a_race_that_was_not_asked_lowers_nothing(seasons: tuple[pl.DataFrame, pl.DataFrame], plain: Levels) -> None:
    """Of a horse's worst race told as not asked: its level is no lower than without that word nor, beyond noise, than
    without the race; the run is called eased and its figure says nothing."""
    mine, _ = two(seasons)
    own = figures(plain).filter(pl.col("horse_key") == mine)
    worst = own.with_columns(off=pl.col("figure_lb") - pl.col("expected_lb")).sort("off").row(0, named=True)
    told = fit_levels(*seasons, told=Told(unasked=frozenset({(mine, worst["date"])})))
    races, runs = seasons
    gone = fit_levels(races, runs.filter((pl.col("horse_key") != mine) | (pl.col("race_key") != worst["race_key"])))
    assert level(told, mine)[0] >= level(plain, mine)[0]
    assert level(told, mine)[0] > level(gone, mine)[0] - 0.1 * level(gone, mine)[1]
    row = figures(told).filter(pl.col("horse_key") == mine, pl.col("race_key") == worst["race_key"]).row(0, named=True)
    assert row["eased"] == 1.0
    assert row["figure_sd_lb"] > 2.0 * float(own["figure_sd_lb"].median())


def test_those_that_have_not_raced_are_left_out(seasons: tuple[pl.DataFrame, pl.DataFrame], plain: Levels) -> None:
    """A trial of a horse that the results do not hold, or before its first race, changes no level."""
    mine, other = two(seasons)
    first = seasons[1].filter(pl.col("horse_key") == mine)["date"].min()
    told = Told(outings=(Outing(world().today - timedelta(days=1), 1000.0, "nobody", other, 1.0),
                         Outing(first - timedelta(days=3), 1000.0, mine, other, 1.0)))  # fmt: skip
    fit = fit_levels(*seasons, told=told)
    assert level(fit, mine) == level(plain, mine)
