"""Levels of 60 thousand, 600 thousand and 6 million simulated runs: time, memory, error, truth."""

import multiprocessing
import resource
import time

import numpy as np

from benchmarks._crossed_world import SDS, simulate
from upsides.ratings.crossed import CrossedFit, fit_crossed

SIZES = ((60_000, 6.0), (600_000, 12.0), (6_000_000, 25.0))  # runs, years
Z80 = 1.2815515655446004  # half-width of an 80 % interval in standard errors


def run() -> None:
    """Fit each size in a process of its own and print what it took."""
    print(f"truth: sd race {SDS[0]}, horse {SDS[1]}, residual {SDS[2]}; below (+- standard error; Monte Carlo)")
    seconds = {}
    for runs, years in SIZES:
        with multiprocessing.get_context("spawn").Pool(1) as pool:
            seconds[runs] = pool.apply(measure, (runs, years, 0))
    small, large = min(seconds), max(seconds)
    print(f"ratio: {large / small:.0f} times the runs in {seconds[large] / seconds[small]:.0f} times the time")


def measure(runs: int, years: float, exact_below: int) -> float:
    """Simulate and fit, print one paragraph and return the seconds that the fit took."""
    world = simulate(runs, years, seed=1)
    began = time.perf_counter()
    fit = fit_crossed(world.y, world.race, world.horse, exact_below=exact_below)
    seconds = time.perf_counter() - began
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024**2
    how = "exact" if fit.exact else "iterative"
    print(f"{world.y.size:,} runs, {fit.races.size:,} races, {fit.horses.size:,} horses: {how}, ", end="")
    print(f"{seconds:.1f} s, peak {peak:.2f} GiB, {fit.iterations} evaluations, converged {fit.converged}")
    describe(fit)
    inside = np.abs(fit.horse - world.horse_level[fit.horses]) < Z80 * fit.horse_se
    print(f"  80 % intervals of horse levels cover {100 * inside.mean():.2f} %", flush=True)
    return seconds


def describe(fit: CrossedFit) -> None:
    """Print each component with its standard error and its Monte Carlo error."""
    parts = (
        ("race", fit.sd_race, fit.sd_race_se, fit.sd_race_mc),
        ("horse", fit.sd_horse, fit.sd_horse_se, fit.sd_horse_mc),
        ("residual", fit.sd_residual, fit.sd_residual_se, fit.sd_residual_mc),
    )
    print("  " + ", ".join(f"{name} {sd:.5f} (+- {se:.5f}; {mc:.5f})" for name, sd, se, mc in parts), end="")
    print(f", deviance {fit.deviance:.1f} ({fit.deviance_mc:.1f})")
