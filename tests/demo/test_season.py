import numpy as np
import polars as pl
import pytest
from polars.testing import assert_frame_equal

from upsides.demo import Invented, simulate
from upsides.demo.country import pounds_per_length
from upsides.demo.sizes import SIZES
from upsides.results.schema import OUTCOMES, RACES, RUNS, polars_schema

FRAMES = (
    "races",
    "runs",
    "string",
    "people",
    "shares",
    "stays",
    "work",
    "truth",
    "truth_horses",
    "truth_draws",
)


@pytest.fixture(scope="module")
def joined(invented: Invented) -> pl.DataFrame:
    races = invented.races.select(
        "race_key", "distance_m", "going", "surface", "winning_time_s", "section_m", "runners"
    )
    return invented.runs.join(races, on="race_key")


def test_tables_have_exactly_the_schema(invented: Invented) -> None:
    """Races and runs carry the schema's columns and types, nothing else, in its order."""
    assert invented.races.schema == polars_schema(RACES)
    assert invented.runs.schema == polars_schema(RUNS)


def test_the_same_seed_makes_the_same_world(invented: Invented) -> None:
    """A seed fixes every value."""
    again = simulate()
    assert again.yard == invented.yard
    for frame in FRAMES:
        assert_frame_equal(getattr(again, frame), getattr(invented, frame))


def test_another_seed_makes_another_world_of_the_same_shape(other: Invented, invented: Invented) -> None:
    """A different seed gives other races, and again a full string and fields of five to sixteen."""
    assert other.string.height == 90
    assert other.races["runners"].is_between(5, 16).all()
    assert set(other.string["name"]) != set(invented.string["name"])
    assert 700 <= other.runs["source_horse"].n_unique() <= 1300


def test_sizes(invented: Invented) -> None:
    """Three full seasons and the one under way, five courses, both surfaces, 1000 to 3200 m, at most 20,000 runs."""
    races = invented.races
    assert races["course"].n_unique() == 5
    assert set(races["surface"]) == {"turf", "synthetic"}
    assert (races["distance_m"].min(), races["distance_m"].max()) == (1000, 3200)
    assert set(races["bend"]) == {"straight", "left", "right"}
    assert races["date"].max() < invented.today
    months = races.group_by(year=pl.col("date").dt.year()).agg(pl.col("date").dt.month().n_unique()).sort("year")
    assert months.rows() == [(2023, 12), (2024, 12), (2025, 12), (2026, 6)]
    assert races["runners"].is_between(5, 16).all()
    assert races["race_key"].is_unique().all()
    assert 15_000 < invented.runs.height <= 20_000


def test_the_full_world_is_larger(full: Invented, other: Invented) -> None:
    """The full world has more horses, courses, people and meetings, of the same tables; other holds the same months."""
    assert full.string.height == 120
    assert full.races["course"].n_unique() > 2 * other.races["course"].n_unique()
    assert full.races["date"].n_unique() > 2 * other.races["date"].n_unique()
    assert full.truth_horses.height > 2.3 * other.truth_horses.height
    assert full.people.height > other.people.height
    for frame in FRAMES:
        assert getattr(full, frame).schema == getattr(other, frame).schema
    assert not full.runs.select("race_key", "source_horse").is_duplicated().any()
    assert full.races["race_key"].is_unique().all()
    assert (SIZES["full"].first.year, full.today.year) == (2021, 2026)


def test_keys_agree(invented: Invented) -> None:
    """Every run is in a known race, every race's starters are counted, nothing runs twice in a race."""
    runs = invented.runs
    started = runs.filter(pl.col("outcome") != "withdrawn").group_by("race_key").len()
    counted = invented.races.join(started, on="race_key")
    assert counted.height == invented.races.height
    assert (counted["runners"] == counted["len"]).all()
    assert not runs.select("race_key", "source_horse").is_duplicated().any()
    assert set(runs["outcome"]) <= set(OUTCOMES)


def test_every_kind_of_ending_occurs(invented: Invented) -> None:
    """Withdrawn, disqualified, non-finishers and dead heats all occur: readers of results meet them."""
    assert {"withdrawn", "disqualified", "pulled_up", "unseated", "finished"} <= set(invented.runs["outcome"])
    assert invented.runs["dead_heat"].any()


def test_times_follow_margins(joined: pl.DataFrame) -> None:
    """A beaten horse's time is the winner's and its margin at 5, 5.5 or 6 lengths to the second, by going."""
    # Source of the scale: British lengths per second from 15 June 2008 as restated in 2012; synthetic 6.
    timed = joined.drop_nulls("time_s")
    slow = timed["going"].replace_strict({"good to soft": 5.5, "soft": 5.0, "heavy": 5.0}, default=6.0)
    expected = timed["winning_time_s"] + timed["beaten_lengths"] / slow
    assert (timed["time_s"] - expected).abs().max() <= 0.0051


def test_sections_add_up(joined: pl.DataFrame, invented: Invented) -> None:
    """Section lengths add up to the distance and section times to the finishing time."""
    timed = joined.drop_nulls("time_s")
    assert (timed["section_s"].list.sum() - timed["time_s"]).abs().max() < 1e-6
    assert (timed["section_s"].list.len() == timed["section_m"].list.len()).all()
    races = invented.races
    assert (races["section_m"].list.sum() == races["distance_m"]).all()
    assert (races["section_s"].list.sum() - races["winning_time_s"]).abs().max() < 1e-6
    assert timed["section_s"].list.min().min() > 3


def test_positions_follow_margins(joined: pl.DataFrame) -> None:
    """Among finishers, positions rise with the published lengths behind, and dead-heaters share."""
    finished = joined.filter(pl.col("outcome") == "finished").sort("race_key", "position")
    step = finished.select(
        same=(pl.col("race_key") == pl.col("race_key").shift()),
        place=pl.col("position") - pl.col("position").shift(),
        gap=pl.col("beaten_lengths") - pl.col("beaten_lengths").shift(),
    ).filter("same")
    assert (step["gap"] >= 0).all()
    assert (step["place"].eq(0) == step["gap"].eq(0)).all()
    shared = finished.group_by("race_key", "position").agg(pl.len(), pl.col("dead_heat").all())
    assert (shared["dead_heat"] == (shared["len"] > 1)).all()


def test_starting_places_close_up_after_withdrawals(invented: Invented) -> None:
    """Actual starting places run from 1 without a gap in order of draw; the withdrawn have none."""
    assert invented.runs.filter(pl.col("outcome") == "withdrawn")["started_from"].is_null().all()
    ran = invented.runs.drop_nulls("started_from").sort("race_key", "draw")
    ranks = ran.select(pl.col("draw").rank().over("race_key"))["draw"]
    assert (ran["started_from"] == ranks).all()


def test_truth_explains_uneased_margins(invented: Invented, joined: pl.DataFrame) -> None:
    """Without easing, pounds of truth less weight carried order the field but for the judge's rounding."""
    runs = joined.drop_nulls("time_s").join(invented.truth, on=["race_key", "source_horse"])
    runs = runs.filter(pl.col("age") >= 5, pl.col("eased_lengths") == 0)  # grown: no growth gap in play
    k = pl.Series([pounds_per_length(m) for m in runs["distance_m"]])
    runs = runs.with_columns(lost=(pl.col("carried_lb") - pl.col("figure_lb")) / k)
    behind = runs.select(pl.col("lost", "beaten_lengths") - pl.col("lost", "beaten_lengths").min().over("race_key"))
    assert runs.height > 1000
    assert np.corrcoef(behind["lost"], behind["beaten_lengths"])[0, 1] > 0.97
    placed = (
        runs.drop_nulls("position")
        .sort("race_key", "position")
        .with_columns(gap=pl.col("lost").diff().over("race_key"))
    )
    assert placed["gap"].drop_nulls().min() > -0.01


def test_truth_adds_up_and_covers_everyone(invented: Invented) -> None:
    """Parts of a run's truth add up to its figure; every horse has a true level today."""
    truth = invented.truth
    ran = truth.drop_nulls("race_key")
    parts = [f"{part}_lb" for part in ("level", "fit", "fresh", "trip", "going", "surface", "draw", "rider", "luck")]
    assert (ran.select(pl.sum_horizontal(parts) - pl.col("figure_lb"))["level_lb"].abs() < 1e-9).all()
    assert (ran["trip_lb"] <= 0).all()
    today = truth.filter(pl.col("race_key").is_null())
    assert (today["date"] == invented.today).all()
    assert set(invented.string["source_horse"]) <= set(today["source_horse"])
    assert truth.null_count().select("level_lb", "best_trip_m").row(0) == (0, 0)


def test_handicap_weights_follow_marks(invented: Invented) -> None:
    """Among grown horses in a handicap, a pound of mark is a pound of weight before the claim."""
    races = invented.races.filter(pl.col("title").str.ends_with("Handicap") & (pl.col("ages") == "4yo+"))
    runs = invented.runs.join(races.select("race_key", "rating_high"), on="race_key").filter(pl.col("age") > 4)
    weight = runs["carried_lb"] + runs["claim_lb"]
    due = 137 - (runs["rating_high"] - runs["official_rating"])
    assert runs.height > 200
    assert (weight == due.clip(114)).all()


def test_market_and_real_money_are_absent(invented: Invented) -> None:
    """The invented country publishes no odds and pays in no currency."""
    assert invented.runs["odds"].is_null().all()
    assert set(invented.races["currency"]) == {"XTS"}
