"""Horses are not entered at random: ranges hold under three habits, and a change of trip is not credited with luck."""

from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from trip_worlds import HABITS, LUCK, Herd, herd
from upsides.ratings.kept_fits import Fit
from upsides.trip.case import TRUST
from upsides.trip.controls import controls
from upsides.trip.defaults import defaults
from upsides.trip.learning import learn
from upsides.trip.model import HORSES_READ, TripModel
from upsides.trip.population import Population, entered_log, evidence
from upsides.trip.posterior import posterior
from upsides.trip.prior import prior
from upsides.trip.scale import below

HORSES = 5000


@pytest.mark.parametrize("habit", HABITS)
def test_ranges_hold_under_habits_the_model_does_not_know(habit: str) -> None:
    """Of 5,000 simulated horses the 90 % range covers the true trip of 88 to 92 in 100, whoever enters them.

    The population is learned from half of the same horses, as from a library. The world had no part in choosing how far
    to believe those who enter; docs/trip.md says how other worlds come out.
    """
    world = herd(habit, HORSES, seed=32)
    learned = learn(world.runs.of(np.arange(HORSES_READ)), Population(tau=90.0), ages=False)
    p = learned.population
    said, entered = evidence(world.runs, p, np.zeros(HORSES)), TRUST * entered_log(world.runs, p)
    before = prior(p, defaults(date(2026, 1, 1)), centre=(p.ability, p.trip))
    at = [below(posterior(p, before, said, h, entered[h]).density, world.trip[h]) for h in range(HORSES)]
    inside = np.mean((np.array(at) > 0.05) & (np.array(at) < 0.95))
    assert learned.converged
    assert 0.88 <= inside <= 0.92


def _fit(world: Herd) -> tuple[Fit, TripModel]:
    """Return the tables that `controls` reads: each run expected at the mean of the horse's other runs."""
    runs = world.runs
    owner = np.repeat(np.arange(runs.size), runs.counts)
    total = np.bincount(owner, runs.y, runs.size)
    others = (total[owner] - runs.y) / np.maximum(runs.counts[owner] - 1, 1)
    keys = [f"r{k}" for k in range(runs.y.size)]
    figures = pl.DataFrame({
        "race_key": keys, "horse_key": [runs.keys[h] for h in owner], "figure_lb": runs.y, "expected_lb": others,
        "date": [date(2020, 1, 1) + timedelta(days=float(d)) for d in runs.day],
    })  # fmt: skip
    demand = pl.DataFrame({"race_key": keys, "demand": runs.x, "distance": runs.x})
    return Fit(date(2026, 1, 1), figures, figures, figures, {}), _Demand(demand)  # type: ignore[return-value]


class _Demand:
    """Just the table of demands of a model."""

    def __init__(self, demand: pl.DataFrame) -> None:
        self.demand = demand


def test_equally_beaten_horses_that_stay_improve_as_much() -> None:
    """Where a change of trip does nothing, changers improve after a bad run, and controls that stayed just as much.

    In this world nothing depends on the trip at all, so what both gain is regression to the mean.
    """
    world = herd("chasers", 4000, seed=3)
    runs, rng = world.runs, np.random.default_rng(4)
    owner = np.repeat(np.arange(runs.size), runs.counts)
    runs.y[:] = world.ability[owner] + rng.normal(0, LUCK, runs.y.size)
    found = controls(*_fit(world))
    assert found["changed_lb"] > 8.0
    assert found["stayed_lb"] > 8.0
    assert abs(found["difference_lb"]) < 4 * found["se_lb"]


def test_a_change_that_helps_is_seen() -> None:
    """Where horses that change after a bad run gain five pounds by it, changers gain five more than controls."""
    world = herd("takers", 3000, seed=5)
    runs, rng = world.runs, np.random.default_rng(6)
    owner = np.repeat(np.arange(runs.size), runs.counts)
    base = world.ability[owner] + rng.normal(0, LUCK, runs.y.size)
    changed = np.concatenate([[False], (np.abs(np.diff(runs.x)) > 0.05) & (np.diff(owner) == 0)])
    runs.y[:] = base
    runs.y[changed] += 5.0
    found = controls(*_fit(world))
    assert found["difference_lb"] == pytest.approx(5.0, abs=4 * found["se_lb"])
