"""The invented yard's diary."""

import json
from datetime import UTC, datetime, time, timedelta

import polars as pl
import pytest

from upsides.demo import Invented

COLUMNS = {
    "entry": pl.Int64,
    "source_horse": pl.String,
    "kind": pl.String,
    "author": pl.String,
    "happened_at": pl.Datetime("us", "UTC"),
    "made_at": pl.Datetime("us", "UTC"),
    "recorded_at": pl.Datetime("us", "UTC"),
    "values": pl.String,
    "supersedes": pl.Int64,
}
FEVER = 38.6


@pytest.fixture(scope="module")
def diary(invented: Invented) -> pl.DataFrame:
    return invented.diary


@pytest.fixture(scope="module")
def temperatures(diary: pl.DataFrame) -> pl.DataFrame:
    """Temperatures that stand: those corrected later left out."""
    found = diary.filter(
        pl.col("kind") == "temperature", ~pl.col("entry").is_in(diary["supersedes"].drop_nulls().implode())
    )
    return found.with_columns(celsius=pl.col("values").str.json_path_match("$.celsius").cast(pl.Float64))


def test_columns(diary: pl.DataFrame) -> None:
    """The diary has its columns and types, and entries are numbered from 1 as they were recorded."""
    assert dict(diary.schema) == COLUMNS
    assert diary["entry"].to_list() == list(range(1, diary.height + 1))
    assert diary["recorded_at"].is_sorted()


def test_everybody_and_every_horse_in_the_diary_exists(invented: Invented, diary: pl.DataFrame) -> None:
    """Authors work in the horse's barn, and the horses are the string's, each of them seen some day."""
    assert set(diary["source_horse"]) == set(invented.string["source_horse"])
    who = invented.people.select(author="login", roles="roles", works_in="barn")
    found = diary.join(who, on="author", how="left").join(invented.string, on="source_horse")
    assert (found["barn"] == found["works_in"]).all()
    assert found["roles"].list.contains("owner").sum() == 0


def test_it_covers_a_fortnight_and_the_first_hours_of_today(invented: Invented, diary: pl.DataFrame) -> None:
    """Fourteen days before today and today until 05:00 UTC, of which only some of the string."""
    days = diary["happened_at"].dt.convert_time_zone(invented.yard.zone).dt.date()
    assert set(days) == {invented.today - timedelta(days=back) for back in range(15)}
    assert diary["recorded_at"].max() <= datetime.combine(invented.today, time(5), UTC)
    this_morning = diary.filter(days == invented.today)["source_horse"].n_unique()
    assert 20 < this_morning < invented.string.height


def test_not_every_horse_is_seen_every_day(invented: Invented, diary: pl.DataFrame) -> None:
    """On the days before today most horses are looked at, and on each of most days somebody is missed."""
    days = diary["happened_at"].dt.date()
    seen = diary.filter(days < invented.today, pl.col("kind") == "looked_at")
    each = seen.group_by(pl.col("happened_at").dt.date()).agg(pl.col("source_horse").n_unique())["source_horse"]
    share = each / invented.string.height
    assert 0.8 < float(share.mean()) < 1.0
    assert (share < 1.0).sum() >= 7


def test_moments_are_in_order_and_some_came_late(diary: pl.DataFrame) -> None:
    """A thing happens, is entered, is recorded, in this order; a few entries waited hours for a signal."""
    assert (diary["made_at"] >= diary["happened_at"]).all()
    assert (diary["recorded_at"] >= diary["made_at"]).all()
    late = (diary["recorded_at"] - diary["made_at"] > timedelta(hours=1)).mean()
    assert 0.01 < float(late or 0) < 0.06


def test_values_are_those_of_the_kind(diary: pl.DataFrame) -> None:
    """A look holds nothing, a temperature degrees Celsius, a note a sentence."""
    keys = {"looked_at": [], "temperature": ["celsius"], "note": ["text"]}
    read = [(kind, json.loads(values)) for kind, values in diary.select("kind", "values").rows()]
    assert {kind for kind, _ in read} == set(keys)
    assert all(list(values) == keys[kind] for kind, values in read)
    assert all(values["text"].endswith(".") for kind, values in read if kind == "note")


def test_temperatures_are_a_horses(temperatures: pl.DataFrame) -> None:
    """Temperatures lie between 37.2 and 38.6, but for a fever now and then (0.3 to 3 %), of a few horses."""
    # 37.2 to 38.3 with others up to 38.6 at rest (adult horses; published ranges differ by a few tenths).
    hot = temperatures.filter(pl.col("celsius") > FEVER)
    assert temperatures["celsius"].is_between(37.2, 39.6).all()
    assert 0.003 < hot.height / temperatures.height < 0.03
    assert 1 <= hot["source_horse"].n_unique() <= 4


def test_corrections_put_a_wrong_temperature_right(diary: pl.DataFrame) -> None:
    """Two temperatures were corrected, by the same person of the same horse and moment, soon and to another value."""
    new = diary.drop_nulls("supersedes")
    both = new.join(diary, left_on="supersedes", right_on="entry", suffix="_old")
    assert both.height == new.height == 2
    assert (both["entry"] > both["supersedes"]).all()
    for same in ("source_horse", "kind", "author", "happened_at"):
        assert (both[same] == both[f"{same}_old"]).all()
    assert (both["values"] != both["values_old"]).all()
    assert (both["recorded_at"] - both["recorded_at_old"]).is_between(timedelta(0), timedelta(minutes=30)).all()
