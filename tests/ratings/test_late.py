"""Late speed of runs and where it stands, on the invented world and by hand."""

import polars as pl
import pytest

import worlds
from upsides.ratings.late import late_standings


@pytest.fixture(scope="module")
def world() -> tuple[pl.DataFrame, pl.DataFrame]:
    """Races and runs of the invented country."""
    made = worlds.world()
    return made.races, made.runs.with_columns(horse_key="source_horse")


def test_late_speed_is_the_ratio_of_two_speeds(world: tuple[pl.DataFrame, pl.DataFrame]) -> None:
    """Late speed equals the last 400 m over its time, divided by the distance over the whole time."""
    races, runs = world
    found = late_standings(races, runs)
    run = found.join(runs, on=["race_key", "horse_key"]).join(races, on="race_key", suffix="_race").row(0, named=True)
    left, seconds = 400.0, 0.0
    for metres, time in zip(reversed(run["section_m"]), reversed(run["section_s"]), strict=True):
        part = min(left, metres)
        seconds, left = seconds + time * part / metres, left - part
    by_hand = (400.0 / seconds) / (run["distance_m"] / run["time_s"])
    assert run["late_speed"] == pytest.approx(by_hand, rel=1e-9)


def test_standings_are_even_over_a_course_and_trip(world: tuple[pl.DataFrame, pl.DataFrame]) -> None:
    """Over a course and trip with many races the standings spread evenly from 0 to 1: their mean is near one half."""
    races, runs = world
    found = late_standings(races, runs).join(races.select("race_key", "course", "distance_m"), on="race_key")
    by = (
        found.group_by("course", "distance_m").agg(pl.col("late_standing").mean(), pl.len()).filter(pl.col("len") > 300)
    )
    assert by.height >= 3
    assert by["late_standing"].is_between(0.4, 0.6).all()


def test_without_sections_nothing_is_said(world: tuple[pl.DataFrame, pl.DataFrame]) -> None:
    """A table without sections gives no rows, and the columns all the same."""
    races, runs = world
    bare = runs.with_columns(section_s=pl.lit(None, pl.List(pl.Float64)))
    found = late_standings(races, bare)
    assert found.is_empty()
    assert found.columns == ["race_key", "horse_key", "late_speed", "late_standing"]
