"""Days between runs by trip: known truth of simulated results, and real ones of which nothing is claimed."""

import os
from pathlib import Path

import numpy as np
import polars as pl
import pytest

from upsides.condition.fresh.answer import since_run
from upsides.condition.fresh.from_results import gaps_of
from upsides.condition.fresh.gaps import BOUNDS, STEPS, between_runs, learn_gaps
from upsides.trade.units import FURLONG_M

SHARED = Path(os.environ.get("UPSIDES_SHARED", Path(__file__).resolve().parents[3] / "shared" / "data"))
RUNS = SHARED / "results" / "hk1997_runs.csv.gz"
BANDS, COUNT = len(BOUNDS) + 1, len(STEPS) + 1
TRIPS = np.array([5.0, 8.0, 12.0])


def truth(band: np.ndarray, days: np.ndarray, lost: tuple[float, float, float]) -> np.ndarray:
    """Return what is missing so many days after a run, lb: it fades within ten days."""
    return -np.array(lost)[band] * np.exp(-days / 10.0)


def simulated(seed: int, count: int, lost: tuple[float, float, float]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return trips, gaps and deviations of runs, each with an error of 12 lb."""
    rng = np.random.default_rng(seed)
    band = rng.integers(0, 3, count)
    days = np.round(np.exp(rng.normal(3.1, 0.6, count))).clip(3, 300)
    return TRIPS[band], days, truth(band, days, lost) + rng.normal(0, 12, count)


def expected(trip: np.ndarray, days: np.ndarray, lost: tuple[float, float, float]) -> np.ndarray:
    """Return the true mean of every band and step, from 200,000 runs without error, against each band's usual step."""
    band, step = np.searchsorted(BOUNDS, trip), np.searchsorted(STEPS, days)
    true = truth(band, days, lost)
    table = np.array([
        [true[(band == b) & (step == s)].mean() if ((band == b) & (step == s)).any() else np.nan for s in range(COUNT)]
        for b in range(BANDS)
    ])  # fmt: skip
    usual = np.array([np.bincount(step[band == b], minlength=COUNT).argmax() for b in range(BANDS)])
    return table - table[np.arange(BANDS), usual][:, None]


def test_simulated_gaps_are_found_with_honest_intervals() -> None:
    """Of 10 libraries in which twelve pounds, five and two fade within ten days, 80 to 97 of a hundred intervals that
    are to hold nine in ten hold the truth, pooled over bands and steps."""
    lost = (2.0, 5.0, 12.0)
    held = []
    for seed in range(10):
        trip, days, y = simulated(seed, 6000, lost)
        found, true = learn_gaps(trip, days, y), expected(trip, days, lost)
        other = np.abs(true) > 0
        held.append(((found.effects[..., 1] <= true) & (true <= found.effects[..., 2]))[other & np.isfinite(true)])
    assert 0.8 < np.mean(np.concatenate(held)) < 0.97


def test_that_a_long_trip_takes_more_out_is_found_where_it_is_so() -> None:
    """Where a mile and a half takes six times out of a horse what five furlongs do, 20,000 runs tell that the trips
    differ and that a week after it is too soon."""
    found = learn_gaps(*simulated(3, 20_000, (2.0, 5.0, 12.0)))
    soon = found.effect(12.0, 6.0)
    assert (found.trips_differ, soon.says) == ("told", "told")
    assert soon.mean is not None
    assert soon.mean < -2.0
    assert found.apart[0, 2] < 0


def test_where_gaps_say_nothing_nothing_is_told() -> None:
    """Without any effect of gaps, of 10 libraries at most a tenth of the cells is called told, and that trips differ in
    few of them."""
    found = [learn_gaps(*simulated(seed, 6000, (0.0, 0.0, 0.0))) for seed in range(100, 110)]
    cells = np.concatenate([one.effects.reshape(-1, 3) for one in found])
    known = cells[np.isfinite(cells[:, 0]) & (cells[:, 0] != 0)]
    assert np.mean(known[:, 1] * known[:, 2] > 0) < 0.1
    assert sum(one.trips_differ == "told" for one in found) <= 3


def test_too_few_runs_are_told_as_that() -> None:
    """Of 150 runs nothing is told, but how long horses usually stayed away is."""
    trip, days, y = simulated(1, 150, (2.0, 5.0, 12.0))
    found = learn_gaps(trip, days, y)
    effect = found.effect(12.0, 6.0)
    assert (effect.says, effect.mean, found.trips_differ) == ("too few runs", None, "too few runs")
    low, middle, high = np.quantile(days[trip == 12.0], (0.25, 0.5, 0.75))
    assert (found.gaps[2].low, found.gaps[2].middle, found.gaps[2].high) == (low, middle, high)
    assert found.usual_after(12.0) == found.gaps[2]
    assert found.gaps[2].runs == np.count_nonzero(trip == 12.0)


def test_days_since_a_run_stand_beside_what_is_usual() -> None:
    """Six days after a mile and a half are told with the usual gap after such trips and what results say of it; where
    nobody looked at results, with neither."""
    found = learn_gaps(*simulated(3, 3000, (2.0, 5.0, 12.0)))
    told = since_run(6, 12.0, found)
    assert (told.usual, told.effect) == (found.gaps[2], found.effect(12.0, 6.0))
    assert (since_run(6, 12.0, None).usual, since_run(6, 12.0, None).effect) == (None, None)


def test_a_librarys_runs_are_taken_by_the_run_before() -> None:
    """What each run was off, the trip of the run before and the days since it are what is learnt from; a run
    of which nothing was expected is no deviation, still a run between, and one of the usual gaps."""
    trip, days, y = simulated(5, 900, (2.0, 5.0, 12.0))
    horse = np.arange(900) // 30
    first = np.r_[True, np.diff(horse) > 0]
    trips, since = np.r_[trip[1:], 5.0], np.where(first, 0, days)
    day = np.cumsum(since) - np.cumsum(since)[np.maximum.accumulate(np.where(first, np.arange(900), 0))]
    keys = [f"r{k}" for k in range(900)]
    missed = pl.DataFrame({
        "race_key": keys, "horse_key": [f"h{h}" for h in horse], "date": (day + 12_000).astype(np.int32),
        "off_lb": [None if k % 50 == 7 else v for k, v in enumerate(y)],
    }).with_columns(pl.col("date").cast(pl.Date))  # fmt: skip
    races = pl.DataFrame({"race_key": keys, "distance_m": trips * FURLONG_M})
    kept = ~first & (np.arange(900) % 50 != 7)
    found = gaps_of(missed.sample(fraction=1.0, shuffle=True, seed=3), races)
    assert sum(one.runs for one in found.gaps) == (~first).sum()
    assert np.array_equal(found.runs, learn_gaps(trip[kept], days[kept], y[kept]).runs)
    assert np.allclose(found.effects, learn_gaps(trip[kept], days[kept], y[kept]).effects, equal_nan=True, atol=1e-6)


def test_rows_without_a_gap_are_left_out() -> None:
    """First runs, with no gap, and runs without a figure change nothing."""
    trip, days, y = simulated(2, 3000, (2.0, 5.0, 12.0))
    more = [np.r_[one, other] for one, other in ((trip, [5.0, 8.0]), (days, [np.nan, 20.0]), (y, [3.0, np.nan]))]
    assert np.array_equal(learn_gaps(*more).effects, learn_gaps(trip, days, y).effects, equal_nan=True)


def test_the_run_before_is_the_horses_own() -> None:
    """Of runs in any order each one's run before is the same horse's last, with the days between."""
    horse, day = np.array([7, 3, 7, 3, 7, 9]), np.array([30, 12, 10, 40, 17, 5])
    before, gap = between_runs(horse, day)
    assert before.tolist() == [4, -1, -1, 1, 2, -1]
    assert gap.tolist()[:5] == pytest.approx([13.0, np.nan, np.nan, 28.0, 7.0], nan_ok=True)


@pytest.mark.skipif(not RUNS.exists(), reason="the shared results are not here")
def test_on_real_results_shuffled_gaps_say_nothing() -> None:
    """Of 59,505 real runs, with lengths against the mean of the race and of the horse's earlier runs for a figure, the
    cells are filled and the intervals end; with the gaps shuffled among the runs of a trip, at most two in ten of the
    cells are told. Nothing is claimed of the real ones."""
    trip, gap, y, rng = *_real(), np.random.default_rng(4)
    found = learn_gaps(trip, gap, y)
    assert np.isfinite(found.effects[found.runs > 0]).all()
    assert found.runs.sum() > 40_000
    told = []
    for _ in range(4):
        shuffled = gap.copy()
        for band in range(BANDS):
            rows = np.flatnonzero(np.searchsorted(BOUNDS, trip) == band)
            shuffled[rows] = rng.permutation(gap[rows])
        cells = learn_gaps(trip, shuffled, y).effects.reshape(-1, 3)
        known = cells[np.isfinite(cells[:, 0]) & (cells[:, 0] != 0)]
        told.append(np.mean(known[:, 1] * known[:, 2] > 0))
    assert np.mean(told) < 0.2


def _real() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return trip of the run before, gap and deviation of every run with earlier ones."""
    races = pl.read_csv(RUNS.with_name("hk1997_races.csv.gz"), columns=["race_id", "date", "distance"])
    runs = pl.read_csv(RUNS, columns=["race_id", "horse_id", "lengths_behind"]).join(races, on="race_id")
    runs = runs.filter(pl.col("lengths_behind").is_between(0, 40)).with_columns(pl.col("date").str.to_date())
    runs = runs.with_columns(lead=pl.col("lengths_behind").mean().over("race_id") - pl.col("lengths_behind"))
    runs = runs.sort("horse_id", "date").with_columns(
        past=pl.col("lead").cum_sum().over("horse_id") - pl.col("lead"), nth=pl.int_range(pl.len()).over("horse_id")
    )
    day = runs["date"].to_physical().to_numpy()
    before, gap = between_runs(runs["horse_id"].to_numpy(), day)
    usual = runs["past"].to_numpy() / (runs["nth"].to_numpy() + 5.0)
    return runs["distance"].to_numpy()[before] / 201.168, gap, runs["lead"].to_numpy() - usual
