"""Levels that move in time at 60 thousand and 600 thousand simulated runs, beside levels that stand still."""

import multiprocessing
import resource
import time

import numpy as np
from numpy.typing import NDArray

from benchmarks._crossed_world import SDS, World, simulate
from upsides.ratings.crossed import fit_crossed
from upsides.ratings.levels.estimate import estimate
from upsides.ratings.levels.record import Components, Record

SIZES = ((60_000, 6.0), (600_000, 12.0))  # runs, years
FORM_SD, FORM_DAYS = 5.0, 150.0


def run() -> None:
    """Fit each size in a process of its own and print what it took."""
    print(f"truth: lasting {SDS[1]}, passing {FORM_SD} and error {SDS[2]} lb (sd), {FORM_DAYS:.0f} days")
    for runs, years in SIZES:
        with multiprocessing.get_context("spawn").Pool(1) as pool:
            pool.apply(measure, (runs, years))


def measure(runs: int, years: float) -> None:
    """Simulate, fit both ways and print one paragraph."""
    world = simulate(runs, years, seed=1)
    record = _record(world, years * 365)
    estimate(_record(simulate(2_000, 1.0, seed=2), 365.0), Components(60.0, 20.0, 100.0, 90.0))  # compile first
    began = time.perf_counter()
    still = fit_crossed(world.y, world.race, world.horse, races="fixed", exact_below=0)
    middle = time.perf_counter()
    found = estimate(record, Components(60.0, 60.0, 300.0, 60.0), exact_below=0)
    end = time.perf_counter()
    v, peak = found.components, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024**2
    print(f"{record.y.size:,} runs, {record.races:,} races: {end - middle:.1f} s, peak {peak:.2f} GiB, ", end="")
    print(
        f"{found.iterations} steps, converged {found.converged} (levels that stand still: {middle - began:.1f} s, ",
        end="",
    )
    print(f"{still.iterations} evaluations)")
    for name, log_sd, se, mc in zip(
        ("lasting", "passing", "days", "error"),
        (v.lasting**0.5, v.passing**0.5, v.tau, v.residual**0.5),
        found.log_se * [0.5, 0.5, 1, 0.5],
        found.log_monte_carlo * [0.5, 0.5, 1, 0.5],
        strict=True,
    ):
        print(f"  {name} {log_sd:.3f} (+- {log_sd * se:.3f}; Monte Carlo {log_sd * mc:.4f})")
    print(f"ratio: {(end - middle) / (middle - began):.1f} times the time of levels that stand still", flush=True)


def _record(world: World, days: float) -> Record:
    """Sort the runs by horse and add form to them."""
    order = np.lexsort((world.race, world.horse))
    race, horse = world.race[order].astype(np.int64), np.unique(world.horse[order], return_inverse=True)[1]
    day = race * (days / (race.max() + 1))
    y = world.y[order] + _form(horse, day)
    start = np.concatenate([[0], np.cumsum(np.bincount(horse))]).astype(np.int64)
    n = race.size
    return Record(y, race, day, start, np.ones(n), np.zeros(n), np.zeros((n, 0)), np.zeros(0), int(race.max()) + 1)


def _form(horse: NDArray[np.int64], day: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the passing part of each run's level: an Ornstein-Uhlenbeck process within each horse."""
    shocks = np.random.default_rng(3).normal(0, FORM_SD, horse.size)
    keep = np.where(np.diff(horse, prepend=-1) == 0, np.exp(-np.diff(day, prepend=0.0) / FORM_DAYS), 0.0)
    out = shocks.copy()
    for i in range(1, horse.size):
        out[i] = keep[i] * out[i - 1] + (1.0 - keep[i] ** 2) ** 0.5 * shocks[i]
    return out
