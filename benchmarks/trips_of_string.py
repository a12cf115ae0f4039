"""All trips of a string of 120 horses over a library of 1 million runs, beside the answer for the whole library."""

import time
from datetime import date, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import polars as pl

from upsides.trip import shape
from upsides.trip.cases import Cases
from upsides.trip.defaults import defaults
from upsides.trip.learning import Learned
from upsides.trip.model import FAMILY, TripModel
from upsides.trip.population import Population
from upsides.trip.pulls import best_furlongs, range_furlongs

RUNS, HORSES, RACES, STRING = 1_000_000, 75_000, 100_000, 120
TODAY = date(2026, 1, 1)


def run() -> None:
    """Lay a library's figures on disk, then answer for a string and for all its horses."""
    with TemporaryDirectory() as folder:
        model, horses = _library(Path(folder))
        began = time.perf_counter()
        string = _answered(Path(folder), model, horses.head(STRING))
        short = time.perf_counter() - began
        began = time.perf_counter()
        whole = _answered(Path(folder), model, horses.head(HORSES // 15))
        long = time.perf_counter() - began
    same = np.abs(string - whole[:STRING]).max()
    print(f"{STRING} horses out of {RUNS:,} runs: {short:.2f} s, read, worked out and ranged")
    print(f"{HORSES // 15:,} horses: {long:.2f} s, {1000 * long / (HORSES // 15):.2f} ms a horse; ", end="")
    print(f"ratio {long / short:.1f} for {HORSES // 15 / STRING:.0f} times as many, largest gap {same:.1e} furlongs")


def _library(folder: Path) -> tuple[TripModel, pl.DataFrame]:
    rng = np.random.default_rng(1)
    keys = np.array([f"b:{h}" for h in range(HORSES)])
    owner, race = rng.integers(HORSES, size=RUNS), rng.integers(RACES, size=RUNS)
    days = np.sort(rng.integers(0, 3000, RACES))
    frame = pl.DataFrame({
        "race_key": np.array([f"r{k}" for k in range(RACES)])[race],
        "horse_key": keys[owner],
        "date": [TODAY - timedelta(days=int(d) + 1) for d in days[race]],
        "figure_lb": rng.normal(70, 9, RUNS),
        "figure_sd_lb": np.full(RUNS, 6.0),
        "late_standing": rng.random(RUNS),
    })  # fmt: skip
    frame.sort("horse_key", "date").write_parquet(folder / "figures.parquet")
    demand = pl.DataFrame({"race_key": [f"r{k}" for k in range(RACES)], "demand": rng.normal(2.9, 0.3, RACES)})
    learned = Learned(Population(), {}, (), HORSES, RUNS, 0.0, converged=True)
    model = TripModel(TODAY, defaults(TODAY), learned, {}, demand, pl.DataFrame(schema=FAMILY), ())
    horses = pl.DataFrame({"horse_key": keys}).with_columns(
        sex=pl.lit("gelding"), suffix=pl.lit("GB"), foaled=pl.lit(2021)
    )
    return model, horses


def _answered(folder: Path, model: TripModel, horses: pl.DataFrame) -> np.ndarray:
    """Return the best trip of each horse, furlongs, its ranges worked out too."""
    cases = Cases(model, pl.scan_parquet(folder / "figures.parquet"), shape.unlearned(model.given)).of(horses)
    posts = [case.answer() for case in cases]
    for post in posts:
        range_furlongs(post, 0.5)
        range_furlongs(post, 0.9)
    return np.array([best_furlongs(post) for post in posts])
