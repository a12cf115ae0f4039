"""Margins, weights and allowances to pounds, against worked examples."""

from datetime import date

import numpy as np
import polars as pl
import pytest

from upsides.ratings.levels import pounds
from upsides.ratings.levels.performances import performances
from upsides.results.schema import RACES, RUNS, polars_schema
from upsides.rules import override


def frames(**changes: list[object]) -> tuple[pl.DataFrame, pl.DataFrame]:
    """One race over a mile in Britain: winner 8st 12lb, second beaten 1.5 lengths, third by time only."""
    races = {
        "race_key": ["s:1"],
        "source": ["s"],
        "date": [date(2024, 7, 20)],
        "country": ["GB"],
        "code": ["flat"],
        "surface": ["turf"],
        "distance_m": [1609.344],
        "going": ["good to firm"],
        "winning_time_s": [96.0],
    }
    runs = {
        "race_key": ["s:1"] * 3,
        "source": ["s"] * 3,
        "date": [date(2024, 7, 20)] * 3,
        "horse_key": ["s:a", "s:b", "s:c"],
        "outcome": ["finished"] * 3,
        "position": [1, 2, 3],
        "age": [4, 4, 4],
        "carried_lb": [128.0, 126.0, 126.0],
        "beaten_lengths": [0.0, 1.5, None],
        "time_s": [96.0, 96.25, 96.5],
    } | changes
    keys = polars_schema(RUNS) | {"horse_key": pl.String}
    return (
        pl.DataFrame(races, schema_overrides={k: v for k, v in polars_schema(RACES).items() if k in races}).pipe(
            whole, polars_schema(RACES)
        ),
        pl.DataFrame(runs, schema_overrides={k: v for k, v in keys.items() if k in runs}).pipe(whole, keys),
    )


def whole(frame: pl.DataFrame, schema: pl.Schema | dict[str, pl.DataType]) -> pl.DataFrame:
    """The frame with every column of the schema."""
    return frame.select(
        *(pl.col(name) if name in frame.columns else pl.lit(None, dtype).alias(name) for name, dtype in schema.items())
    )


def of(table: pl.DataFrame, horse: str) -> float:
    """The performance of one horse."""
    return float(table.filter(pl.col("horse_key") == horse)["lb"][0])


def test_published_pounds_per_length_at_a_mile() -> None:
    """A horse beaten 1.5 lengths at a mile with 2 lb less is 5 lb behind, as in the published example.

    Source: British Horseracing Authority, performance figures (2 lb a length at a mile on good to firm).
    """
    table = performances(*frames()).runs
    assert of(table, "s:a") - of(table, "s:b") == pytest.approx(5.0)


def test_missing_margin_comes_from_the_times() -> None:
    """Without a margin, 0.5 s at 6 lengths a second is 3 lengths.

    Source: British lengths a second from June 2008 (6 on good or quicker ground).
    """
    table = performances(*frames()).runs
    assert of(table, "s:b") - of(table, "s:c") == pytest.approx(2.0 * (3.0 - 1.5))


def test_claim_is_added_back() -> None:
    """A claim of 5 lb with 8st 7lb carried counts as 8st 12lb (British Horseracing Authority, performance figures)."""
    table = performances(*frames(carried_lb=[119.0, 124.0, 119.0], claim_lb=[5.0, 0.0, 5.0])).runs
    assert of(table, "s:a") == pytest.approx(124.0)


def test_weight_for_age_is_allowed_by_the_rule_of_the_day() -> None:
    """A three-year-old over a mile and a half in late July is allowed 11 lb in Europe from 2017 (published point)."""
    races, runs = frames(age=[3, 4, 4])
    races = races.with_columns(distance_m=pl.lit(2414.016))
    table = performances(races, runs)
    assert table.runs.filter(pl.col("horse_key") == "s:a")["allowed_lb"][0] == pytest.approx(11.0)
    assert any("GB" in note for note in table.notes)


def test_a_yards_own_rule_goes_first() -> None:
    """An override of weight for age wins over the shipped scale."""
    own = override(
        "weight for age", "ours", "Britain", "the yard, 2024", shape="points", form="allowance", unit="lb",
        step="half-month", distance_rule="nearest furlong",
        points=[{"furlongs": 8, "age": 3, "step": "Jul2", "value": 4}],
    )  # fmt: skip
    table = performances(*frames(age=[3, 4, 4]), overrides=own).runs
    assert table.filter(pl.col("horse_key") == "s:a")["allowed_lb"][0] == pytest.approx(4.0)


def test_a_race_with_one_margin_says_nothing() -> None:
    """A race in which only one runner's margin is known is left out."""
    races, runs = frames(beaten_lengths=[0.0, None, None], time_s=[None, None, None])
    assert performances(races, runs).runs.is_empty()


def test_obstacle_races_are_left_out() -> None:
    """A hurdle race makes no performance."""
    races, runs = frames()
    assert performances(races.with_columns(code=pl.lit("hurdle")), runs).runs.is_empty()


def test_spread_follows_pace_and_shrinks_with_few_runners() -> None:
    """Spread simulated to grow with early pace is found with its slope; a small field's own spread is believed less."""
    rng = np.random.default_rng(2)
    races, n = 600, 12
    pace = rng.normal(0, 0.02, races)
    own = rng.normal(0, 0.2, races)
    race = np.repeat(np.arange(races), n)
    margin = np.abs(rng.normal(0, 8.0, race.size)) * np.exp(9.0 * pace + own)[race]
    found = pounds.race_spread(margin, race, races, np.full(races, 1400.0), pace)
    assert abs(found.pace_slope - 9.0) < 3 * found.pace_slope_se
    assert np.corrcoef(np.log(found.factor), 9.0 * pace + own)[0, 1] > 0.6
    few = np.isin(race, np.arange(300)) & (np.tile(np.arange(n), races) > 3)
    thinned = pounds.race_spread(np.where(few, np.nan, margin), race, races, np.full(races, 1400.0), pace * 0)
    assert np.log(thinned.factor[:300]).std() < np.log(thinned.factor[300:]).std()


def test_spread_of_a_handful_of_races_is_left_alone() -> None:
    """With a handful of margins no race is drawn in or out."""
    found = pounds.race_spread(np.arange(12.0), np.repeat(np.arange(2), 6), 2, np.full(2, 1200.0), np.zeros(2))
    np.testing.assert_array_equal(found.factor, 1.0)


def test_without_a_scale_the_published_curve_allows_for_growth() -> None:
    """Where no authority has a scale a two-year-old is allowed what the published curve has it below its best.

    Source: Gramm & Marksteiner 2010, J Equine Sci 21:73: 15 lengths below the peak (4.45 years) at two over a mile, in
    a quadratic; at two and a half 15 x (1.95 / 2.45)^2 lengths of 2 lb each. From the peak on nothing is allowed.
    """
    races, runs = frames(age=[2, 4, 7])
    table = performances(races.with_columns(country=pl.lit("BR")), runs)
    allowed = {row["horse_key"]: row["allowed_lb"] for row in table.runs.iter_rows(named=True)}
    assert allowed["s:a"] == pytest.approx(2.0 * 15 * (1.95 / 2.45) ** 2, rel=1e-6)
    assert allowed["s:b"] == allowed["s:c"] == 0.0
    assert any("published curve" in note for note in table.notes)


def test_ages_that_do_not_advance_are_not_believed(hk1997: tuple[pl.DataFrame, pl.DataFrame]) -> None:
    """In the shared table ages stand still from year to year; the fit says so and uses nothing about growing older."""
    table = performances(*hk1997)
    assert any("do not advance" in note for note in table.notes)
    assert float(table.runs["allowed_lb"].abs().max()) == 0.0
