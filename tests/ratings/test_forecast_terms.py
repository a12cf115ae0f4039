"""Terms know nothing of their own day or of later ones, and are nothing where a column is missing."""

from datetime import date

import numpy as np
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from small_worlds import OUTCOME_COLUMNS, random_results, scrambled
from upsides.ratings.forecast.design import Design, shared, terms_of
from upsides.ratings.forecast.starters import Starters, starters_from


def terms(races: pl.DataFrame, runs: pl.DataFrame) -> tuple[Starters, Design]:
    table = starters_from(races, runs)
    return table, terms_of(shared(table))


def one(races: pl.DataFrame, runs: pl.DataFrame, name: str) -> np.ndarray:
    _, design = terms(races, runs)
    return design.x[:, design.names.index(name)]


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000), st.floats(0.1, 0.95), st.sampled_from(["removed", "scrambled"]))
def test_no_look_ahead(seed: int, share: float, how: str) -> None:
    """Up to a day, terms are the same to the bit without all later races and with that day's own results changed."""
    rng = np.random.default_rng(seed)
    races, runs = random_results(rng)
    day = races["date"].sort()[int(share * races.height)]
    kept = races.filter(pl.col("date") <= day)
    today = set(races.filter(pl.col("date") == day)["race_key"])
    known = runs.filter(pl.col("race_key").is_in(kept["race_key"].implode()))
    if how == "removed":
        gone = pl.when(pl.col("race_key").is_in(list(today))).then(None)
        known = known.with_columns(gone.otherwise(pl.col(name)).alias(name) for name in OUTCOME_COLUMNS)
    else:
        known = scrambled(rng, known, today)
    (whole, full), (part, cut) = terms(races, runs), terms(kept, known)
    n = part.horse.size
    assert (whole.race_key[: part.race_key.size] == part.race_key).all()
    for k, name in enumerate(full.names):
        if name in cut.names:
            np.testing.assert_array_equal(full.x[:n, k], cut.x[:, cut.names.index(name)], err_msg=name)
        else:  # a surface that nobody had raced on yet
            assert not full.x[:n, k].any()


@settings(max_examples=5, deadline=None)
@given(st.integers(0, 10_000))
def test_later_days_can_be_scrambled(seed: int) -> None:
    """Scrambling every result from a day on changes no term of that day or before."""
    rng = np.random.default_rng(seed)
    races, runs = random_results(rng)
    day = races["date"].sort()[races.height // 2]
    later = races.filter(pl.col("date") >= day)["race_key"]
    (table, before), (_, after) = terms(races, runs), terms(races, scrambled(rng, runs, set(later)))
    until = table.start[np.searchsorted(table.day, (day - date(1970, 1, 1)).days, "right")]
    np.testing.assert_array_equal(before.x[:until], after.x[:until])
    assert not np.array_equal(before.x, after.x)


def test_the_market_is_never_a_term() -> None:
    """Changing every price changes no term."""
    races, runs = random_results(np.random.default_rng(1))
    other = runs.with_columns(odds=pl.col("odds").reverse() * 3)
    np.testing.assert_array_equal(terms(races, runs)[1].x, terms(races, other)[1].x)


MISSING = {
    "jockey": ("jockey", "jockey_places", "jockey_up", "jockey_than_usual", "jockey_of_new_horse"),
    "trainer": ("trainer", "trainer_surface", "trainer_course"),
    "suffix": ("country", "country_new"),
    "carried_lb": ("carried", "claim", "carried_up", "load", "below_peak", "below_win", "below_win5"),
    "saddlecloth": ("claim",),
    "draw": ("stall", "stall_rail"),
    "body_mass_kg": ("mass", "mass_up", "load", "mass_first_run"),
    "section_position": ("lead", "lead_alone", "style_by_trip"),
    "time_s": ("clock",),
    "surface": ("level_surface1",),
    "distance_m": ("trip_up", "style_by_trip"),
    "rating_high": ("below_peak", "below_win", "below_win5"),
    "prize": ("prize_up",),
}


@pytest.mark.parametrize("column", MISSING)
@pytest.mark.parametrize("how", ["empty", "absent"])
def test_a_missing_column_makes_its_terms_nothing(column: str, how: str) -> None:
    """Without a column the terms that live on it are 0 for every run, and no term is NaN or infinite."""
    races, runs = random_results(np.random.default_rng(2))

    def without(frame: pl.DataFrame) -> pl.DataFrame:
        if column not in frame.columns:
            return frame
        return frame.with_columns(pl.lit(None).alias(column)) if how == "empty" else frame.drop(column)

    _, design = terms(without(races), without(runs))
    assert np.isfinite(design.x).all()
    for name in MISSING[column]:
        if name in design.names:
            assert np.abs(design.x[:, design.names.index(name)]).max() < 1e-12, name


def test_nothing_but_places() -> None:
    """Races of which only the date, the horses and their places are known still give terms, all finite."""
    races, runs = random_results(np.random.default_rng(3))
    table, design = terms(races.select("race_key", "date"), runs.select("race_key", "horse_key", "position"))
    assert np.isfinite(design.x).all()
    assert design.x.shape == (table.horse.size, len(design.names))
    assert np.abs(design.x[:, design.names.index("horse")]).max() > 0


def test_terms_are_centred_in_each_race() -> None:
    """Every term adds up to nothing in each race."""
    races, runs = random_results(np.random.default_rng(4))
    table, design = terms(races, runs)
    assert np.abs(np.add.reduceat(design.x, table.start[:-1], axis=0)).max() < 1e-9


def duel(days: list[int], **columns: list[object]) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Return races on `days` between the horses a and b, columns running a, b, a, b, ..."""
    dates = pl.Series("date", days).cast(pl.Int32).cast(pl.Date)
    keys = [f"r{i}" for i in range(len(days))]
    races = pl.DataFrame({"race_key": keys}).with_columns(dates)
    twice = [key for key in keys for _ in range(2)]
    runs = pl.DataFrame({"race_key": twice, "horse_key": ["a", "b"] * len(days), "saddlecloth": [1, 2] * len(days)})
    return races, runs.with_columns(pl.Series(name, values) for name, values in columns.items())


def test_changes_are_against_the_last_run() -> None:
    """Weight and mass up are against the horse's own last run, half to each side of the race's mean."""
    races, runs = duel([0, 20], carried_lb=[120.0, 120, 128, 122], body_mass_kg=[500.0, 500, 510, 500])
    assert one(races, runs, "carried_up").tolist() == [0, 0, 3, -3]
    assert one(races, runs, "mass_up")[2:] == pytest.approx([500 / 510, -500 / 510])
    assert one(races, runs, "carried").tolist() == [0, 0, 3, -3]


def test_a_mark_below_the_last_winning_one() -> None:
    """A horse that won off 70 and now runs off 66 is 4 below; a win outside handicaps leaves that as it is."""
    races, runs = duel(
        [0, 20, 40],
        position=[2, 1, 2, 1, 1, 2],
        carried_lb=[130.0, 120.0, 130.0, 120.0, 130.0, 116.0],
    )
    races = races.with_columns(rating_high=pl.Series([80.0, None, 80.0]))
    # b: 80 - 10 = 70 when it won; no mark when it won again; 80 - 14 = 66 now. a never won before.
    assert one(races, runs, "below_win")[4:].tolist() == [-2, 2]
    assert one(races, runs, "never_won")[4:].tolist() == [0.5, -0.5]


def test_leaving_a_group_out() -> None:
    """A design without a group lacks its terms and keeps the others in order."""
    _, design = terms(*random_results(np.random.default_rng(5)))
    left = design.without("people")
    assert "people" not in left.groups
    assert "jockey" in design.names
    assert "jockey" not in left.names
    assert left.names == tuple(n for n, g in zip(design.names, design.groups, strict=True) if g != "people")
    assert left.x.shape == (design.x.shape[0], len(left.names))
