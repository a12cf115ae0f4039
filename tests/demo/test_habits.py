"""Trainers' habits of the invented country: really different, and seen in what is published."""

import numpy as np
import polars as pl
import pytest

from upsides.demo import Invented
from upsides.demo.trainers import HABITS

OFTEN, SELDOM, FURTHER, SHORTER, WINTER = (habit.name for habit in HABITS[1:])
PEDIGREE = HABITS[0].name


@pytest.fixture(scope="module")
def starts(invented: Invented) -> pl.DataFrame:
    """Every start in order of horse and day, with its race, its result, and what came next under the same habit."""
    ran = invented.runs.filter(pl.col("outcome") != "withdrawn")
    ran = ran.select("race_key", "source_horse", "position", "trainer", "official_rating")
    races = invented.races.select("race_key", "distance_m", "surface", "rating_low", "runners")
    found = invented.truth.drop_nulls("race_key").join(ran, on=["race_key", "source_horse"]).join(races, on="race_key")
    found = found.join(invented.truth_horses.select("source_horse", "constitution"), on="source_horse")
    found = found.sort("source_horse", "date").with_columns(
        days=pl.col("date").diff().dt.total_days().over("source_horse", "habit"),
        step=(pl.col("distance_m").log(2).shift(-1) - pl.col("distance_m").log(2)).over("source_horse", "habit"),
        new_trip=(pl.col("distance_m") != pl.col("distance_m").shift()).over("source_horse", "habit"),
        beaten=(pl.col("position").fill_null(99) > pl.max_horizontal(3, pl.col("runners") // 2)),
    )
    return found.with_columns(habit=pl.col("habit").cast(pl.Enum([habit.name for habit in HABITS]))).sort("habit")


def by_habit(frame: pl.DataFrame, **what: pl.Expr) -> pl.DataFrame:
    found = frame.group_by("habit").agg(**what).sort("habit")
    assert found.height == len(HABITS)
    return found


def test_every_habit_has_trainers_and_runs(starts: pl.DataFrame) -> None:
    """Each habit is that of at least four trainers and of at least 500 starts."""
    found = by_habit(starts, trainers=pl.col("trainer").n_unique(), starts=pl.len())
    assert found["trainers"].min() >= 4
    assert found["starts"].min() >= 500


def test_trainers_keep_their_stated_gaps(starts: pl.DataFrame) -> None:
    """No horse runs again before its trainer's fewest days are over; half do within twice that and 14 days."""
    found = by_habit(starts.drop_nulls("days"), fewest=pl.col("days").min(), half=pl.col("days").median())
    stated = np.array([habit.gap_days for habit in HABITS])
    assert (found["fewest"].to_numpy() >= stated).all()
    assert (found["half"].to_numpy() <= 2 * stated + 14).all()


def test_beaten_horses_are_moved_up_or_down_in_trip(starts: pl.DataFrame) -> None:
    """After a beaten run the next trip is longer, shorter or much the same, as the trainer's habit says."""
    found = (
        starts.filter("beaten")
        .drop_nulls("step")
        .group_by("habit")
        .agg(pl.col("step").mean(), se=pl.col("step").std() / pl.len().sqrt())
    )
    step = {row["habit"]: (row["step"], row["se"]) for row in found.to_dicts()}
    assert step[FURTHER][0] > 4 * step[FURTHER][1]
    assert step[SHORTER][0] < -4 * step[SHORTER][1]
    assert abs(step[PEDIGREE][0]) < min(step[FURTHER][0], -step[SHORTER][0])


def test_trips_end_up_farther_from_the_best_under_bad_habits(starts: pl.DataFrame) -> None:
    """Moving every beaten horse one way costs more pounds of trip on average than keeping to the pedigree."""
    found = by_habit(starts, lost=pl.col("trip_lb").mean(), se=pl.col("trip_lb").std() / pl.len().sqrt())
    lost = dict(zip(found["habit"], found["lost"], strict=True))
    se = 4 * float(found["se"].max())
    assert lost[FURTHER] < lost[PEDIGREE] - se
    assert lost[SHORTER] < lost[PEDIGREE] - se


def luck_gap(first: pl.DataFrame, second: pl.DataFrame) -> tuple[float, float]:
    """Return by how many pounds the first starts were luckier than the second, and the standard error of that."""
    both = [frame["luck_lb"].to_numpy() for frame in (first, second)]
    assert min(luck.size for luck in both) > 300
    return float(both[0].mean() - both[1].mean()), float(np.sqrt(sum(luck.var() / luck.size for luck in both)))


def test_a_new_trip_is_kept_after_good_luck(starts: pl.DataFrame) -> None:
    """Trainers who go back where a horse was placed keep to a new trip after luckier runs than they drop it after."""
    new = starts.filter("new_trip", pl.col("habit").is_in([OFTEN, WINTER])).drop_nulls("step")
    gap, se = luck_gap(new.filter(pl.col("step") == 0), new.filter(pl.col("step") != 0))
    assert gap > 2 * se


def test_the_trip_is_moved_after_bad_luck(starts: pl.DataFrame) -> None:
    """Trainers who move beaten horses up or down in trip do so after unluckier runs than they leave the trip after."""
    own = starts.filter(pl.col("habit").is_in([FURTHER, SHORTER])).drop_nulls("step")
    went = pl.col("step") * pl.when(pl.col("habit") == FURTHER).then(1).otherwise(-1) > 0.1
    gap, se = luck_gap(own.filter(went), own.filter(~went))
    assert gap < -2 * se


def test_some_are_entered_above_their_mark(starts: pl.DataFrame) -> None:
    """In handicaps, horses of those who run seldom and high stand lower in the band than anybody else's."""
    rated = starts.drop_nulls("rating_low").drop_nulls("official_rating")
    found = by_habit(rated, above=(pl.col("official_rating") - pl.col("rating_low")).mean())
    assert found["habit"][int(found["above"].arg_min() or 0)] == SELDOM


def test_some_keep_to_the_synthetic(starts: pl.DataFrame) -> None:
    """Winterers have the largest share of starts on synthetic courses, those who run seldom the smallest."""
    found = by_habit(starts, share=(pl.col("surface") == "synthetic").mean()).sort("share")
    assert (found["habit"][0], found["habit"][-1]) == (SELDOM, WINTER)


def test_work_follows_the_habit(starts: pl.DataFrame) -> None:
    """Horses of trainers who work them more come to the races with more recent fast work, in the stated order."""
    found = by_habit(starts, work=pl.col("work_days").mean())["work"].to_numpy()
    stated = np.array([habit.fast_days for habit in HABITS])
    assert np.corrcoef(found, stated)[0, 1] > 0.95


def test_some_wait_for_a_horse_that_is_slow_to_get_over_a_race(starts: pl.DataFrame) -> None:
    """Weak constitutions get longer gaps than strong ones from trainers who wait, and not from those who run often."""
    gaps = starts.filter(pl.col("days") < 60).with_columns(weak=pl.col("constitution") < 0.8)
    found = gaps.group_by("habit", "weak").agg(pl.col("days").mean()).pivot("weak", index="habit", values="days")
    longer = {row["habit"]: row["true"] - row["false"] for row in found.to_dicts()}
    assert longer[PEDIGREE] > 5
    assert abs(longer[OFTEN]) < 3
