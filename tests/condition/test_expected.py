"""What is expected of runs: by earlier days only."""

from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from upsides.condition.expected import LEAST_RUNS, SCHEMA, missed_in

FIRST = date(2029, 1, 3)


def season(seed: int, weeks: int = 30, horses: int = 40) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Return races and runs of horses whose true levels are their numbers less twenty, lb, beaten by a pound a fifth of
    a length."""
    rng = np.random.default_rng(seed)
    races, runs = [], []
    for week in range(weeks):
        order = rng.permutation(horses)
        for race, start in enumerate(range(0, horses, 10)):
            field, key = order[start : start + 10], f"{week}-{race}"
            races.append({"race_key": key, "date": FIRST + timedelta(days=7 * week), "course": "A", "race_no": race,
                          "code": "flat", "distance_m": 1400.0})  # fmt: skip
            worth = 0.5 * (field - 20.0) + rng.normal(0.0, 4.0, 10)
            behind = (worth.max() - worth) / 2.14
            place = np.argsort(np.argsort(behind)) + 1
            runs += [{"race_key": key, "horse_key": f"h{horse}", "outcome": "finished", "position": int(at),
                      "beaten_lengths": float(lengths), "jockey": f"j{horse % 7}", "carried_lb": 126.0}
                     for horse, at, lengths in zip(field, place, behind, strict=True)]  # fmt: skip
    return pl.DataFrame(races), pl.DataFrame(runs)


def test_later_results_change_nothing_of_earlier_runs() -> None:
    """What a run was off its expectation is the same, to the last digit, whether or not later results are known."""
    races, runs = season(1)
    cut = FIRST + timedelta(days=7 * 18)
    before = races.filter(pl.col("date") < cut)
    some = missed_in(before, runs.join(before.select("race_key"), on="race_key", how="semi"))
    whole = missed_in(races, runs).filter(pl.col("date") < cut)
    assert some.height == 18 * 40
    assert some.sort("race_key", "horse_key").equals(whole.sort("race_key", "horse_key"))


def test_a_runs_own_day_says_nothing_of_it() -> None:
    """A horse that runs thirty lengths worse than ever is that much off on its day: the day itself lowers nothing."""
    races, runs = season(2)
    mine = (pl.col("race_key").str.starts_with("25-")) & (pl.col("horse_key") == "h30")
    worse = runs.with_columns(beaten_lengths=pl.when(mine).then(30.0).otherwise(pl.col("beaten_lengths")))
    for told in (runs, worse):
        found = missed_in(races, told).filter(mine)
        off = found["off_lb"][0]
        assert (off > -12.0) if told is runs else (off < -18.0)


def test_newcomers_are_not_told() -> None:
    """A horse's first runs have no expectation; from the fourth on each has one, met on the mean to about a pound: runs
    beaten far count less, which `usual_off` takes out."""
    races, runs = season(3)
    found = missed_in(races, runs).with_columns(nth=pl.col("date").rank("dense").over("horse_key") - 1)
    assert found.filter(pl.col("nth") < LEAST_RUNS)["off_lb"].null_count() == LEAST_RUNS * 40
    later = found.filter(pl.col("nth") >= LEAST_RUNS)
    assert later["off_lb"].null_count() == 0
    assert later["off_lb"].mean() == pytest.approx(0.0, abs=1.0)
    assert list(found.schema.items())[: len(SCHEMA)] == list(SCHEMA.items())
    assert missed_in(races.clear(), runs).height == 0
