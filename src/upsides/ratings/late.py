"""Late speed of every run against the whole race, and where it stands among all runs over its course and trip."""

import polars as pl

from upsides.ratings.sections import run_sections
from upsides.ratings.usual import learn_usual, stand


def late_standings(races: pl.DataFrame, runs: pl.DataFrame) -> pl.DataFrame:
    """Return one row a timed run; empty where the tables hold no sections.

    Columns: race_key, horse_key, `late_speed` (mean speed over the last 400 m over mean speed of the whole run; 1 is
    even) and `late_standing` (share of all runs over that course and trip that were slower late; drawn towards all runs
    over the trip where the course has few races).

    Args:
        races: frame of the results schema.
        runs: likewise, with `horse_key`.
    """
    timed = runs.filter(pl.col("section_s").list.len() > 0, pl.col("time_s").is_not_null())
    late = timed.select("race_key", "horse_key").with_columns(run_sections(races, timed)["late_speed"])
    trip = pl.format("{} {}", "surface", pl.col("distance_m").round())
    where = races.select("race_key", trip=trip, course_trip=pl.format("{} {}", pl.col("course").fill_null(""), trip))
    late = late.join(where, on="race_key", how="left", maintain_order="left").filter(pl.col("late_speed").is_not_null())
    if late.is_empty():
        return late.select("race_key", "horse_key", "late_speed", late_standing=pl.lit(None, pl.Float64))
    race, course_trip, trips = (late[name].fill_null("").to_list() for name in ("race_key", "course_trip", "trip"))
    usual = learn_usual(late["late_speed"].to_numpy(), race, course_trip, trips)
    share = stand(usual, late["late_speed"].to_numpy(), course_trip, trips).share_below
    return late.select("race_key", "horse_key", "late_speed", late_standing=pl.Series(share))
