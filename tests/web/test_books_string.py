from datetime import date, timedelta

import polars as pl
import pytest
from django.db import IntegrityError, transaction

import worlds
from upsides.books.models import Horse, Person
from upsides.books.queries import horse as horses
from upsides.books.queries import moments
from upsides.books.queries import string as reads
from upsides.books.queries.results import race, raced, starts_of, state_of
from upsides.books.queries.visitors import Visitor, visitor

HORSE = {"horse_key": "t:1", "name": "Fallow Bugle", "foaled": 2022, "sex": "colt", "joined": date(2026, 1, 1)}


@pytest.fixture
def trainer(db: None) -> Visitor:
    return visitor(Person.objects.get(login="trainer"), barn=False)


@pytest.mark.parametrize("bad", [{"sex": "stallion"}, {"foaled": 26}, {"name": ""}, {"horse_key": ""}])
def test_a_bad_horse_is_refused(db: None, bad: dict[str, object]) -> None:
    """A value that no horse can have is kept out by the database itself."""
    with pytest.raises(IntegrityError), transaction.atomic():
        Horse.objects.create(**HORSE | bad)
    assert Horse.objects.create(**HORSE).pk


def test_the_string_brings_levels_and_last_runs(loaded: worlds.Yard, trainer: Visitor) -> None:
    """Every horse in training is there once, with the fit's level and its own last run before the day."""
    found = reads.string(loaded.library, trainer, moments.now())
    told = {row["horse_key"]: row for row in loaded.levels.horses.to_dicts()}
    ran = loaded.world.runs.filter(pl.col("outcome") != "withdrawn")
    assert {one.horse.name for one in found.listed} == set(loaded.world.string["name"])
    for one_ in found.listed:
        key = one_.horse.horse_key
        assert (one_.standing.level.lb if one_.standing else None) == (told[key]["level_lb"] if key in told else None)
        own = ran.filter(pl.col("source_horse") == key)
        assert (one_.raced.last["date"] if one_.raced else None) == own["date"].max()
        assert (one_.raced.runs if one_.raced else 0) == own.height


def test_the_small_curve_is_of_the_last_year(loaded: worlds.Yard, trainer: Visitor) -> None:
    """A curve begins no more than a year before the fit's day and ends on it; what it gained is end less start."""
    curves = [one.standing.curve for one in reads.string(loaded.library, trainer, moments.now()).listed if one.standing]
    assert curves
    for curve in curves:
        assert curve.days[0] >= loaded.levels.as_of - timedelta(days=365)
        assert curve.days[-1] == loaded.levels.as_of
        known = len(curve.days) > 1
        assert curve.gained == (curve.level_lb[-1] - curve.level_lb[0] if known else None)


def test_a_horse_brings_all_its_runs_and_figures(loaded: worlds.Yard, trainer: Visitor) -> None:
    """Runs come latest first, withdrawals left out, each with the fit's figure."""
    listed = reads.string(loaded.library, trainer, moments.now()).listed
    best = max((one for one in listed if one.standing), key=lambda one: one.standing.level.lb).horse
    shown = horses.horse(loaded.library, trainer, moments.now(), best.pk)
    own = loaded.world.runs.filter(pl.col("source_horse") == best.horse_key, pl.col("outcome") != "withdrawn")
    figures = loaded.levels.figures.filter(pl.col("horse_key") == best.horse_key)
    told = dict(figures.select("race_key", "figure_lb").iter_rows())
    assert [run["date"] for run in shown.runs] == sorted(own["date"], reverse=True)
    assert {run["race_key"]: run["figure_lb"] for run in shown.runs} == told
    assert shown.standing.level.low < shown.standing.level.lb < shown.standing.level.high


def test_nothing_of_the_day_itself_is_known(loaded: worlds.Yard) -> None:
    """As of a day results before it count, those of the day itself do not."""
    state, keys = state_of(loaded.library), frozenset(loaded.world.string["source_horse"])
    starts = starts_of(state, keys)
    key, day = starts.row(0, named=True)["horse_key"], starts.row(0, named=True)["date"]
    on_the_day = raced(state, keys, day).get(key)
    assert raced(state, keys, day + timedelta(days=1))[key].last["date"] == day
    assert on_the_day is None or on_the_day.last["date"] < day


def test_unknown_things_are_none(loaded: worlds.Yard, trainer: Visitor) -> None:
    """A number or key that is not there gives nothing, not an error."""
    state = state_of(loaded.library)
    assert horses.horse(loaded.library, trainer, moments.now(), 10**6) is None
    assert race(state, "invented:never") is None
    assert starts_of(state, frozenset({"nobody"})).is_empty()
    assert not raced(state, frozenset(), date(2026, 1, 1))


def test_a_race_lists_finishers_before_the_rest(yard: worlds.Yard) -> None:
    """Positions rise; runners without one come last."""
    key = yard.world.runs.filter(pl.col("outcome") == "pulled_up")["race_key"][0]
    row, runs = race(state_of(yard.library), key)
    positions = runs["position"].to_list()
    placed = [place for place in positions if place is not None]
    assert row["race_key"] == key
    assert positions[: len(placed)] == sorted(placed)
    assert positions[len(placed) :] == [None] * (len(positions) - len(placed))


def test_ages_follow_the_rules_of_the_yard(loaded: worlds.Yard, trainer: Visitor) -> None:
    """In the northern hemisphere a horse is a year older on 1 January (common practice; rule `official birthday`)."""
    for one_ in reads.string(loaded.library, trainer, moments.now()).listed:
        assert one_.age == loaded.world.today.year - one_.horse.foaled
