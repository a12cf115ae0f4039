"""A race of 14 answered out of a library of 1 million runs, beside its levels alone; the draw fitted as races grow."""

import time
from datetime import timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import polars as pl

from benchmarks.trips_of_string import RUNS, TODAY, _library
from upsides.placing.chance import Kept, Runner, Setting, chances
from upsides.ratings.draw.fitting import fit_draw
from upsides.ratings.draw.worth import Start, slope_at
from upsides.results.schema import RACES, empty
from upsides.results.schema import RUNS as RUN_COLUMNS
from upsides.rules import NONE

FIELD = 14
SIZES = (1_000, 10_000)


def run() -> None:
    """Answer a race with and without the model of trips, then fit the draw of simulated races at two sizes."""
    with TemporaryDirectory() as folder:
        model, horses = _library(Path(folder))
        figures = pl.scan_parquet(Path(folder) / "figures.parquet").with_columns(expected_lb=pl.lit(70.0))
        manifest = {"base_lb": 70.0, "weight_worth": {"value": 0.5}, "components": {"persevered": 20.0}}
        levels = horses.select("horse_key", level_lb=pl.lit(70.0), sd_lb=pl.lit(4.0)).lazy()
        curves = pl.LazyFrame(schema={"horse_key": pl.String})
        whole = Kept(TODAY, levels, curves, figures, horses.lazy(), manifest, model, None, NONE)
        plain = Kept(TODAY, levels, curves, figures, horses.lazy(), manifest, None, None, NONE)
        long, short = _answered(whole, horses), _answered(plain, horses)
    print(
        f"a race of {FIELD} out of {RUNS:,} runs: {long:.2f} s, by levels alone {short:.2f} s: {long / short:.1f} times"
    )
    seconds = [_fitted(races) for races in SIZES]
    for races, (took, off) in zip(SIZES, seconds, strict=True):
        print(f"draw of {races:,} races: {took:.1f} s; slopes miss by {off:.2f} standard deviations (root mean square)")
    print(f"ratio {seconds[1][0] / seconds[0][0]:.1f} for {SIZES[1] / SIZES[0]:.0f} times as many races")


def _answered(kept: Kept, horses: pl.DataFrame) -> float:
    runners = [Runner(key, 126.0) for key in horses["horse_key"].head(FIELD)]
    setting = Setting(TODAY, "Larkmoor", 1600.0, "turf")
    took = []
    for _ in range(3):
        began = time.perf_counter()
        chances(runners[0], setting, runners[1:], kept)
        took.append(time.perf_counter() - began)
    return min(took)


def _fitted(races: int) -> tuple[float, float]:
    """Return the seconds of a fit, and how far off known slopes it is in its own standard deviations."""
    rng = np.random.default_rng(races)
    courses, field = 10, 11
    slopes = rng.normal(0.0, 4.0, (courses, 6))
    course, trip = rng.integers(courses, size=races), rng.integers(6, size=races)
    key = [f"r{k}" for k in range(races)]
    about = pl.DataFrame({
        "race_key": key, "course": [f"c{k}" for k in course], "surface": ["turf"] * races,
        "distance_m": 1000.0 + 200.0 * trip, "date": [TODAY - timedelta(days=int(k // 8) + 1) for k in range(races)],
    })  # fmt: skip
    d = np.tile(np.arange(field) / (field - 1) - 0.5, races)
    beyond = np.repeat(slopes[course, trip] + rng.normal(0, 3, races), field) * d + rng.normal(0, 7, races * field)
    runs = pl.DataFrame({
        "race_key": np.repeat(key, field), "horse_key": [f"h{k}" for k in range(races * field)],
        "outcome": ["finished"] * (races * field), "started_from": np.tile(np.arange(1, field + 1), races),
    })  # fmt: skip
    about, runs = (pl.concat([empty(columns), rows], how="diagonal_relaxed")
                   for columns, rows in ((RACES, about), (RUN_COLUMNS, runs)))  # fmt: skip
    figures = runs.select("race_key", "horse_key").with_columns(figure_lb=70.0 + beyond, expected_lb=pl.lit(70.0))
    began = time.perf_counter()
    fit = fit_draw(about, runs, figures, TODAY)
    took = time.perf_counter() - began
    found = [
        slope_at(fit.draw, Start(f"c{c}", 1000.0 + 200.0 * t, "turf", runners=field))
        for c in range(courses)
        for t in range(6)
    ]
    off = [(one.mean - true) / one.sd for one, true in zip(found, slopes.ravel(), strict=True)]
    return took, float(np.sqrt(np.mean(np.square(off))))
