"""Late speed against the whole race, pace and position, by arithmetic."""

import os
from pathlib import Path

import numpy as np
import polars as pl
import pytest

from upsides.ratings.sections import (
    Parts,
    at_point,
    early_pace,
    last_part_time,
    late_speed,
    own_time,
    padded,
    race_sections,
    run_sections,
    to_go,
)
from upsides.ratings.usual import learn_usual, stand

RESULTS = Path(os.environ.get("UPSIDES_SHARED", "../shared/data")) / "results"
LENGTHS = np.array([[200.0, 400, 400], [400.0, 400, np.nan]])
TIMES = np.array([[13.0, 22, 23], [24.0, 25, np.nan]])


@pytest.mark.parametrize(
    ("late_f", "late_s", "whole_f", "whole_s", "printed"),
    [(2, 23.50, 8, 96.00, 102.1277), (3, 36.0, 12, 150.0, 104.1667)],
)
def test_late_speed_by_arithmetic(late_f: float, late_s: float, whole_f: float, whole_s: float, printed: float) -> None:
    """Last two furlongs of eight in 23.50 of 96.00 s, and three of twelve: the worked ratios over 100."""
    assert late_speed(late_f, late_s, whole_f, whole_s) == pytest.approx(printed / 100, abs=5e-7)


def test_a_beaten_horse_is_judged_on_its_own_time() -> None:
    """Beaten 3 lengths at 6 a second behind 96.00 s it ran 96.5 s: the worked ratio is 1.013655."""
    whole = own_time(96.0, 3, 6)
    assert whole == pytest.approx(96.5)
    assert late_speed(2, 23.80, 8, whole) == pytest.approx(1.013655, abs=5e-7)


@pytest.mark.parametrize(("per_second", "seconds"), [(6, 0.5), (5.5, 0.5455), (5, 0.6)])
def test_lengths_are_seconds_by_the_going(per_second: float, seconds: float) -> None:
    """Three lengths at the British judge's lengths per second."""
    assert own_time(0, 3, per_second) == pytest.approx(seconds, abs=5e-5)


def test_parts_are_found_from_the_finish_back() -> None:
    """Metres to go, the last part's time and the value at a point, whatever the number of sections."""
    assert to_go(LENGTHS)[0].tolist() == [1000, 800, 400]
    assert last_part_time(LENGTHS, TIMES, 400).tolist() == [23, 25]
    assert last_part_time(LENGTHS, TIMES, 800).tolist() == [45, 49]
    assert at_point(LENGTHS, np.array([[5.0, 4, 1], [2, 3, np.nan]]), 400).tolist() == [4, 2]


def test_a_part_without_a_section_end_is_missing() -> None:
    """Nothing is interpolated: with no section ending there, or no time, there is no answer."""
    assert np.isnan(last_part_time(LENGTHS, TIMES, 600)).all()
    assert np.isnan(at_point(LENGTHS, TIMES, 100)).all()
    holed = TIMES.copy()
    holed[0, 1] = np.nan
    assert np.isnan(last_part_time(LENGTHS, holed, 800)[0])
    assert last_part_time(LENGTHS, holed, 400)[0] == 23


def test_fast_early_is_above_zero() -> None:
    """An early part that takes a smaller share of the time than usual is above 0, and usual is 0."""
    assert early_pace(35.0, 70.0, 0.5) == pytest.approx(0)
    assert early_pace(34.0, 70.0, 0.5) == pytest.approx(np.log(35 / 34))


def test_lists_of_unequal_length_are_padded() -> None:
    """Missing and short lists become padding."""
    table = padded(pl.Series([[1.0, 2.0], None, [], [3.0]], dtype=pl.List(pl.Float64)))
    assert np.array_equal(table, [[1, 2], [np.nan] * 2, [np.nan] * 2, [3, np.nan]], equal_nan=True)


def frames() -> tuple[pl.DataFrame, pl.DataFrame]:
    races = pl.DataFrame(
        {
            "race_key": ["a:1", "a:2"],
            "distance_m": [1000.0, 1000.0],
            "winning_time_s": [58.0, 60.0],
            "section_m": [[200.0, 400.0, 400.0], None],
            "section_s": [[13.0, 22.0, 23.0], None],
            "runners": [3, 2],
        }
    )
    runs = pl.DataFrame(
        {
            "race_key": ["a:1", "a:1", "a:2"],
            "source_horse": ["a:7", "a:8", "a:7"],
            "time_s": [58.0, None, 60.0],
            "beaten_lengths": [0.0, None, 0.0],
            "section_s": [[13.5, 22.0, 22.5], [13.0, 22.0, None], None],
            "section_position": [[3, 2, 1], [1, 1, None], None],
            "section_behind": [[3.0, 1.0, 0.0], [0.5, 0.5, None], None],
        },
        schema_overrides={"section_position": pl.List(pl.Int16)},
    )
    return races, runs


def test_a_run_is_described_from_the_schema() -> None:
    """A run's own sections give late speed, early place and ground made up; what is missing stays empty."""
    races, runs = frames()
    found = run_sections(races, runs)
    assert found["late_speed"].to_list() == [pytest.approx((400 / 22.5) / (1000 / 58.0)), None, None]
    assert found["early_place"].to_list() == [1.0, 0.0, None]
    assert found["early_behind"].to_list() == [3.0, 0.0, None]
    assert found["ground_made_up"].to_list() == [3.0, None, None]
    assert run_sections(races, runs, Parts(early_left_m=400))["early_place"].to_list() == [0.5, 0.0, None]


def test_a_position_beyond_the_field_is_not_believed() -> None:
    """Fifth of three is a fault of the source and stays empty."""
    races, runs = frames()
    wrong = pl.Series("section_position", [[5, 2, 1], [1, 1, None], None], dtype=pl.List(pl.Int16))
    assert run_sections(races, runs.with_columns(wrong))["early_place"].to_list() == [None, 0.0, None]


def test_a_race_is_described_from_the_leaders_sections() -> None:
    """Late speed and early share of the time of a race, empty where it has no sections."""
    found = race_sections(frames()[0])
    assert found["late_speed"].to_list() == [pytest.approx((400 / 23) / (1000 / 58)), None]
    assert found["early_fraction"].to_list() == [pytest.approx(13 / 58), None]


@pytest.mark.skipif(not RESULTS.exists(), reason=f"the shared results {RESULTS} are not on this machine")
def test_what_is_usual_differs_by_trip_on_real_races() -> None:
    """In Hong Kong 1997-2003 usual late speed is below 1 on one course and trip and above on another."""
    races = pl.read_csv(RESULTS / "hk1997_races.csv.gz", null_values=["NA", ""])
    runs = pl.read_csv(RESULTS / "hk1997_runs.csv.gz", null_values=["NA", ""], infer_schema_length=None)
    last = {1000: "time3", 1200: "time3", 1400: "time4", 1600: "time4", 1650: "time4", 1800: "time5"}
    both = runs.join(races.select("race_id", "distance", "venue", "surface"), on="race_id")
    parts = [
        both.filter(pl.col("distance") == trip).select(
            "race_id", "distance", "venue", "surface", "finish_time", late=pl.col(column).cast(pl.Float64)
        )
        for trip, column in last.items()
    ]
    found = pl.concat(parts).filter(pl.col("late").is_between(15, 40))
    value = late_speed(400, found["late"], found["distance"], found["finish_time"])
    trip = found.select(pl.format("{} {}", "surface", "distance")).to_series()
    course = found.select(pl.format("{} {} {}", "venue", "surface", "distance")).to_series()
    usual = learn_usual(value, found["race_id"].cast(pl.String).to_list(), course.to_list(), trip.to_list())
    asked = stand(usual, [1.0, 1.0], ["ST 1 1200", "HV 0 1800"], ["1 1200", "0 1800"])
    assert asked.centre[0] + 0.03 < asked.centre[1]
    assert asked.share_below[0] > 0.6 > 0.4 > asked.share_below[1]
    everyone = stand(usual, value, course.to_list(), trip.to_list())
    assert np.nanmean(everyone.share_below) == pytest.approx(0.5, abs=0.01)
