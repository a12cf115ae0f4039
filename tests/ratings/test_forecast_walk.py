"""The walk forward: nothing of a stretch is used to predict it, and known chances are found again."""

from datetime import date

import numpy as np
import polars as pl
import pytest

from small_worlds import FIRST, random_results, scrambled
from upsides.errors import CannotFitError
from upsides.ratings.choice import shares
from upsides.ratings.evaluation import calibration, score
from upsides.ratings.forecast.design import shared, terms_of
from upsides.ratings.forecast.starters import Starters, starters_from
from upsides.ratings.forecast.walk import Coefficients, Plan, fit_until, walk

World = tuple[pl.DataFrame, pl.DataFrame]


@pytest.fixture(scope="module")
def world() -> World:
    """Return 300 races of horses that differ."""
    rng = np.random.default_rng(11)
    return random_results(rng, races=300, horses=50, skill=rng.normal(0, 0.8, 50))


def utilities(world: World, first: int, plan: Plan) -> tuple[Starters, np.ndarray, list[Coefficients]]:
    table = starters_from(*world)
    found, fits = walk(table, terms_of(shared(table)).x, first, table.day.size, plan)
    return table, found, fits


def test_a_stretch_is_predicted_from_earlier_days(world: World) -> None:
    """Changing every result from a day on leaves the utilities of that day and its coefficients as they were."""
    races, runs = world
    plan = Plan(refit_days=60)
    table, before, fits = utilities(world, 200, plan)
    day = int(table.day[200])
    later = races.filter(pl.col("date") >= date.fromordinal(day + date(1970, 1, 1).toordinal()))["race_key"]
    changed = races, scrambled(np.random.default_rng(1), runs, set(later))
    _, after, other = utilities(changed, 200, plan)
    today = slice(int(table.start[200]), int(table.start[np.searchsorted(table.day, day, "right")]))
    np.testing.assert_array_equal(before[today], after[today])
    np.testing.assert_array_equal(fits[0].beta, other[0].beta)
    assert not np.array_equal(fits[1].beta, other[1].beta)


def test_coefficients_hold_for_the_whole_stretch(world: World) -> None:
    """Every race of a stretch is predicted with the coefficients fitted before its first day."""
    table = starters_from(*world)
    x = terms_of(shared(table)).x
    found, fits = walk(table, x, 200, 260, Plan(refit_days=60))
    begin, days = 200, []
    for fit in fits:
        end = min(int(np.searchsorted(table.day, table.day[begin] + 60)), 260)
        rows = slice(int(table.start[begin]), int(table.start[end]))
        np.testing.assert_array_equal(found[rows], fit.utility(x[rows]))
        days.append(int(table.day[begin]))
        begin = end
    assert begin == 260
    assert np.diff(days).min() >= 60
    assert np.isnan(found[: table.start[200]]).all()
    assert np.isnan(found[table.start[260] :]).all()


def test_progress_ends_with_the_last_race(world: World) -> None:
    """The share told rises to 1."""
    table = starters_from(*world)
    told: list[float] = []
    walk(table, terms_of(shared(table)).x, 250, 300, Plan(refit_days=30), told.append)
    assert told == sorted(told)
    assert told[-1] == 1.0


def test_nothing_before_the_first_day_is_refused(world: World) -> None:
    """Without an earlier race there is nothing to learn from, and the message says what to do."""
    table = starters_from(*world)
    with pytest.raises(CannotFitError, match="choose a later day"):
        fit_until(table, np.zeros((table.horse.size, 1)), int(table.day[0]), Plan())


def test_far_out_terms_are_clipped() -> None:
    """A term beyond the stated number of standard deviations counts as that many."""
    fit = Coefficients(np.array([0.5]), np.eye(1), np.array([2.0]), 6.0)
    np.testing.assert_allclose(fit.utility(np.array([[4.0], [400.0]])), [1.0, 3.0])


@pytest.fixture(scope="module")
def judged() -> tuple[Starters, np.ndarray, np.ndarray]:
    """Return the races, the chances given, and the true ones, of a world in which chances are exp(skill)."""
    rng = np.random.default_rng(7)
    skill = rng.normal(0, 1.0, 80)
    races, runs = random_results(rng, races=1600, horses=80, most=10, skill=skill, missing=0.0)
    table, utility, _ = utilities((races, runs), 800, Plan())
    names = runs["horse_key"].unique().sort().to_list()
    flat = runs.join(races.select("race_key", "date", "course", "race_no"), on="race_key")
    flat = flat.sort("date", "course", "race_no", "race_key", "saddlecloth")
    true = skill[np.array([int(name[1:]) for name in flat["horse_key"]])]
    assert len(names) == 80
    return table, shares(utility[table.start[800] :], _cut(table))[0], shares(true[table.start[800] :], _cut(table))[0]


def _cut(table: Starters) -> np.ndarray:
    return np.asarray(table.start[800:] - table.start[800])


def test_known_chances_are_found_again(judged: tuple[Starters, np.ndarray, np.ndarray]) -> None:
    """With known chances the forecast explains four fifths of what can be explained, which is far from nothing."""
    table, chance, true = judged
    won = table.position[table.start[800] :] == 1
    mine, best = score(chance, _cut(table), won), score(true, _cut(table), won)
    assert mine.pseudo_r2 > 0.8 * best.pseudo_r2 > 0.1
    assert np.corrcoef(np.log(chance), np.log(true))[0, 1] > 0.9


def test_chances_are_calibrated(judged: tuple[Starters, np.ndarray, np.ndarray]) -> None:
    """In every tenth of the chances as many win as predicted, within four binomial errors."""
    table, chance, _ = judged
    for band in calibration(chance, table.position[table.start[800] :] == 1):
        error = np.sqrt(band["predicted"] * (1 - band["predicted"]) / band["count"])
        assert abs(band["observed"] - band["predicted"]) < 4 * error + 0.005


@pytest.mark.parametrize("seed", range(4))
def test_luck_cannot_be_foretold(seed: int) -> None:
    """Where results are pure luck nothing is explained: more than that would be a leak."""
    races, runs = random_results(np.random.default_rng(100 + seed), races=500, horses=60)
    table, utility, _ = utilities((races, runs), 200, Plan())
    rows, offsets = slice(int(table.start[200]), None), table.start[200:] - table.start[200]
    found = score(shares(utility[rows], offsets)[0], offsets, table.position[rows] == 1)
    assert -0.05 < found.pseudo_r2 < 2.5 * found.error
    assert races["date"].min() == FIRST
