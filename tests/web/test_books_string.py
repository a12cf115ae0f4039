from datetime import date

import polars as pl
import pytest
from django.db import IntegrityError

import worlds
from upsides.books.models import Horse
from upsides.books.queries import string as reads
from upsides.books.queries.results import keyed, race, runs_of
from upsides.books.services.string import load_string


def one(**changes: object) -> pl.DataFrame:
    row = {"horse_key": "t:1", "name": "Fallow Bugle", "foaled": 2022, "sex": "colt", "sire": "S", "dam": "D"}
    return pl.DataFrame([row | changes])


def test_loading_twice_changes_nothing(books: None, yard: worlds.Yard) -> None:
    """The second time no horse is new and none is doubled."""
    string = keyed(yard.library, yard.world.string)
    assert load_string(string, date(2026, 1, 1)) == 24
    assert load_string(string, date(2026, 2, 2)) == 0
    assert Horse.objects.count() == 24
    assert set(Horse.objects.values_list("joined", flat=True)) == {date(2026, 1, 1)}


def test_loading_brings_a_horse_up_to_date(books: None) -> None:
    """A gelded colt is a gelding after the next load."""
    load_string(one(), date(2026, 1, 1))
    load_string(one(sex="gelding"), date(2026, 1, 1))
    assert Horse.objects.get().sex == "gelding"


@pytest.mark.parametrize("bad", [{"sex": "stallion"}, {"foaled": 26}, {"name": ""}, {"horse_key": ""}])
def test_a_bad_horse_is_refused_and_nothing_kept(books: None, bad: dict[str, object]) -> None:
    """A value that breaks a constraint keeps the whole string out."""
    both = pl.concat([one(horse_key="t:0"), one(**bad)])
    with pytest.raises(IntegrityError):
        load_string(both, date(2026, 1, 1))
    assert not Horse.objects.exists()


def test_string_is_ordered_by_level(loaded: worlds.Yard) -> None:
    """The best level stands first, horses without one last, each with its own last run."""
    listed = reads.string(loaded.library, loaded.levels)
    known = [row.level.lb for row in listed if row.level]
    assert known == sorted(known, reverse=True)
    assert len(listed) == 24
    assert all(row.level is None for row in listed[len(known) :])
    ran = loaded.world.runs.filter(pl.col("outcome") != "withdrawn")
    for row in listed:
        own = ran.filter(pl.col("source_horse") == row.horse.horse_key)["date"]
        assert (row.last_run["date"] if row.last_run else None) == own.max()


def test_a_horse_brings_all_its_runs_and_figures(loaded: worlds.Yard) -> None:
    """Runs come latest first, withdrawals left out, each with the fit's figure."""
    best = reads.string(loaded.library, loaded.levels)[0].horse
    shown = reads.horse(loaded.library, loaded.levels, best.pk)
    own = loaded.world.runs.filter(pl.col("source_horse") == best.horse_key, pl.col("outcome") != "withdrawn")
    assert shown is not None
    assert shown.runs["date"].to_list() == sorted(own["date"], reverse=True)
    assert shown.runs["figure_lb"].null_count() == 0
    assert shown.level.low < shown.level.lb < shown.level.high


def test_unknown_things_are_none(loaded: worlds.Yard) -> None:
    """A number or key that is not there gives nothing, not an error."""
    assert reads.horse(loaded.library, loaded.levels, 10**6) is None
    assert race(loaded.library, "invented:never") is None
    assert runs_of(loaded.library, ["nobody"]).is_empty()


def test_a_race_lists_finishers_before_the_rest(yard: worlds.Yard) -> None:
    """Positions rise; runners without one come last."""
    key = yard.world.runs.filter(pl.col("outcome") == "pulled_up")["race_key"][0]
    row, runs = race(yard.library, key)
    positions = runs["position"].to_list()
    placed = [place for place in positions if place is not None]
    assert row["race_key"] == key
    assert positions[: len(placed)] == sorted(placed)
