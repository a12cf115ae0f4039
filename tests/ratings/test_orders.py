"""Chances of orders and places against published values and by enumeration."""

import csv
import os
from itertools import permutations
from pathlib import Path

import numpy as np
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from upsides.errors import CannotFitError
from upsides.ratings.orders import (
    NO_DISCOUNT,
    chances_from_draws,
    fit_discounts,
    order_probability,
    place_probabilities,
)

DATA = Path(__file__).parent / "data"
WORLD = Path(os.environ.get("UPSIDES_SHARED", "../shared/data")) / "results" / "world2019_runs.csv.gz"
SEVEN = (0.35, 0.25, 0.15, 0.10, 0.09, 0.05, 0.01)


def published(case: str, model: str) -> dict[tuple[str, str], float]:
    with (DATA / "finishing_orders.csv").open() as file:
        next(file)
        rows = [r for r in csv.DictReader(file) if r["case"] == case and r["model"].startswith(model)]
    return {(r["quantity"], r["item"]): float(r["value"]) for r in rows}


@pytest.mark.parametrize(
    ("order", "exact"),
    [((0, 1, 2), 1 / 3), ((0, 2, 1), 1 / 6), ((1, 0, 2), 1 / 4), ((1, 2, 0), 1 / 12), ((2, 0, 1), 1 / 10)],
)
def test_harville_orders_are_exact(order: tuple[int, ...], exact: float) -> None:
    """Win chances 1/2, 1/3, 1/6 give the textbook fractions (Harville 1973)."""
    assert order_probability((1 / 2, 1 / 3, 1 / 6), order) == pytest.approx(exact, abs=1e-15)


@pytest.mark.parametrize(
    ("model", "discounts"),
    [
        ("harville", NO_DISCOUNT),
        ("discount lambda2=0.81", (0.81, 0.65)),
        ("discount lambda2=0.76", (0.76, 0.62)),
    ],
)
def test_seven_runners_give_the_published_places(model: str, discounts: tuple[float, float]) -> None:
    """Every printed place chance of the seven-runner example, with and without discounts."""
    places = place_probabilities(SEVEN, 3, discounts)
    table = published("seven_runners", model)
    assert len(table) == 28
    for row, runner in enumerate("ABCDEFG"):
        assert [*places[row], places[row].sum()] == pytest.approx(
            [table[q, runner] for q in ("P(1st)", "P(2nd)", "P(3rd)", "P(first three)")], abs=1.5e-6
        )


@settings(max_examples=25, deadline=None)
@given(st.lists(st.floats(0.01, 10), min_size=2, max_size=5), st.floats(0.5, 1), st.floats(0.5, 1))
def test_places_are_sums_over_orders(worth: list[float], second: float, third: float) -> None:
    """Place chances are those of all orders added up one by one."""
    n = len(worth)
    summed = np.zeros((n, 3))
    for order in permutations(range(n), min(n, 3)):
        for place, runner in enumerate(order):
            summed[runner, place] += order_probability(worth, order, (second, third))
    assert place_probabilities(worth, 3, (second, third)) == pytest.approx(summed, abs=1e-12)


def test_more_than_three_places_agree_with_orders() -> None:
    """The integral used beyond three places gives what the orders add up to."""
    summed = np.zeros((5, 5))
    for order in permutations(range(5)):
        summed[order, range(5)] += order_probability(SEVEN[:5], order)
    assert place_probabilities(SEVEN[:5], 5) == pytest.approx(summed, abs=1e-10)


def test_a_hopeless_outsider_and_a_certainty_keep_their_digits() -> None:
    """With worths 1e-200 apart every place is still filled exactly once."""
    places = place_probabilities([1.0, 1e-100, 1e-200, 1e-200])
    assert places.sum(axis=0) == pytest.approx([1, 1, 1], abs=1e-12)
    assert places[2:, 2] == pytest.approx([0.5, 0.5], abs=1e-12)


def test_many_sets_of_worths_at_once() -> None:
    """Leading axes are worked through independently."""
    worth = np.random.default_rng(1).gamma(2, size=(4, 3, 6))
    many = place_probabilities(worth)
    assert many.shape == (4, 3, 6, 3)
    assert many[2, 1] == pytest.approx(place_probabilities(worth[2, 1]), abs=1e-14)


def test_impossible_worths_and_places_are_refused() -> None:
    """A worth of 0 and discounts beyond the third place are named."""
    with pytest.raises(CannotFitError, match="not above 0"):
        place_probabilities([0.5, 0.0])
    with pytest.raises(CannotFitError, match="three places only"):
        place_probabilities(SEVEN, 4, (0.8, 0.6))


def test_discounts_are_recovered_from_simulated_orders() -> None:
    """Orders drawn with powers 0.8 and 0.6 give them back within four standard errors."""
    rng = np.random.default_rng(11)
    win = rng.dirichlet(np.full(9, 1.5), size=3000)
    position = np.zeros_like(win)
    left = np.ones_like(win)
    for place, power in enumerate((1.0, 0.8, 0.6), start=1):
        score = np.where(left > 0, power * np.log(win) + rng.gumbel(size=win.shape), -np.inf)
        chosen = score.argmax(axis=1)
        position[np.arange(3000), chosen] = place
        left[np.arange(3000), chosen] = 0
    found = fit_discounts(win.ravel(), np.arange(0, 27001, 9), position.ravel())
    assert abs(found.second - 0.8) < 4 * found.second_se
    assert abs(found.third - 0.6) < 4 * found.third_se
    assert found.races == 3000


@pytest.mark.skipif(not WORLD.exists(), reason=f"the shared results {WORLD} are not on this machine")
@pytest.mark.parametrize(("kind", "second", "third"), [("Thoroughbred", 0.852, 0.673), ("Harness", 0.821, 0.613)])
def test_discounts_of_published_pool_shares(kind: str, second: float, third: float) -> None:
    """Powers published for the whole table (2,392 and 1,970 races) hold on the part of it kept here."""
    runs = pl.read_csv(WORLD, infer_schema_length=0).filter(pl.col("Type") == kind)
    runs = runs.with_columns(pl.col("WN_pool", "Finish").cast(pl.Float64, strict=False))
    runs = runs.filter(pl.col("WN_pool") > 0).sort(pl.col("EventId").cast(pl.Int64))
    size = runs.group_by("EventId", maintain_order=True).len()["len"].to_numpy()
    offsets = np.append(0, np.cumsum(size))
    found = fit_discounts(runs["WN_pool"].to_numpy(), offsets, runs["Finish"].fill_null(0).to_numpy())
    assert found.races > 1000
    assert abs(found.second - second) < 2 * found.second_se
    assert abs(found.third - third) < 2 * found.third_se


def test_joint_draws_average_over_the_models() -> None:
    """Equal draws give the closed form, and spread-out draws an average with its Monte Carlo error."""
    worth = np.exp(np.array([4.0, 1.0, 0.0]) * np.pi / np.sqrt(6) / 8.0)
    same = chances_from_draws(np.tile([124.0, 121.0, 120.0], (5, 1)), 8.0)
    assert same.win == pytest.approx(worth / worth.sum(), abs=1e-12)
    assert same.first_three == pytest.approx([1, 1, 1], abs=1e-12)
    assert same.error == pytest.approx(np.zeros((3, 3)), abs=1e-12)
    spread = chances_from_draws(np.random.default_rng(2).normal([4, 1, 0], 5, (400, 3)), 8.0)
    assert spread.win.sum() == pytest.approx(1)
    assert spread.win[0] < same.win[0]
    assert spread.error[0, 0] > 0


def test_normal_draws_are_the_normal_model_with_added_spread() -> None:
    """Averaging the normal model over independent normal levels adds the variances."""
    rng = np.random.default_rng(5)
    mean = np.array([3.0, 1.0, 0.0, -2.0])
    averaged = chances_from_draws(rng.normal(mean, 6.0, (3000, 4)), 8.0, "normal")
    wider = chances_from_draws(mean[None, :], 10.0, "normal")
    for got, want, error in zip(averaged.win, wider.win, averaged.error[:, 0], strict=True):
        assert abs(got - want) < 4 * error
