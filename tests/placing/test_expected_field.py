"""The field to expect is made of races of the same kind, for ages that this race takes."""

from dataclasses import replace
from datetime import timedelta

import polars as pl
import pytest

from planned_races import a_race
from upsides.placing.chance import Kept, Setting, read_kept, setting_of
from upsides.placing.chance.expected import similar
from upsides.placing.chance.judging_fields import fields_between, fields_scored
from upsides.results.library import Library
from upsides.trade.age import AgeRange
from worlds import fitted, world


@pytest.fixture(scope="module")
def invented(tmp_path_factory: pytest.TempPathFactory) -> tuple[Library, Kept]:
    """The invented country's library, fitted."""
    library = fitted(tmp_path_factory.mktemp("fitted"))
    return library, read_kept(library, world().today)


def asked(ages: str, band: tuple[float | None, float | None] | None = None, **said: bool) -> Setting:
    """Return a class 4 race over 1400 m to come."""
    day, open_to = world().today + timedelta(days=9), AgeRange.parse(ages) if ages else None
    return Setting(day, "", 1400.0, "turf", race_class="4", band=band, prize=11000.0, ages=open_to, **said)


def alike(invented: tuple[Library, Kept], setting: Setting) -> pl.DataFrame:
    """Return the races most like one with their share of all that counts."""
    found = similar(*invented, setting).join(invented[0].races().collect(), on="race_key")
    return found.with_columns(share=pl.col("nearness") / pl.col("nearness").sum())


def test_a_handicap_is_expected_from_handicaps(invented: tuple[Library, Kept]) -> None:
    """Where a band lies above all past ones the field still comes from handicaps; other races count for next to
    nothing, and none is for two-year-olds alone where the race is for three and up."""
    found = alike(invented, asked("3yo+", (None, 95.0), handicap=True))
    assert found.filter(~pl.col("title").str.contains("Handicap"))["share"].sum() < 0.02
    assert found.filter(pl.col("ages") == "2yo").is_empty()
    assert found.height >= 20


def test_a_maiden_is_not_expected_from_handicaps(invented: tuple[Library, Kept]) -> None:
    """The other way round too: a novice race for two-year-olds comes from races for two-year-olds at level weights."""
    found = alike(invented, asked("2yo", handicap=False))
    assert found["ages"].unique().to_list() == ["2yo"]
    assert found.filter(pl.col("title").str.contains("Handicap"))["share"].sum() < 0.02
    assert found.height >= 5


def test_what_is_not_said_is_not_held_against_a_race(invented: tuple[Library, Kept]) -> None:
    """A race of which neither kind nor ages are known may be like any other."""
    found = alike(invented, asked(""))
    assert found["ages"].n_unique() > 1
    assert found.select(pl.col("title").str.contains("Handicap").n_unique()).item() == 2


def test_fields_are_judged_on_later_races(invented: tuple[Library, Kept]) -> None:
    """Of the races after a morning most have the size that was expected, and classes are told apart by level."""
    library, known = invented
    then = replace(known, as_of=world().today - timedelta(days=60))
    found = fields_scored(fields_between(library, then, then.as_of, world().today))
    assert found is not None
    assert found["size"]["inside"] > 0.65
    assert found["level"]["told"] > 0.5


def test_a_race_says_whether_it_is_a_handicap() -> None:
    """By its kinds; a maiden and a group race are none; a band alone, or nothing at all, does not settle it."""
    kinds = {"handicap": True, "nursery": True, "maiden": False}
    for kind, told in kinds.items():
        found = setting_of(a_race(kinds=frozenset({kind}), ages=AgeRange(3)))
        assert found is not None
        assert (found.handicap, found.ages) == (told, AgeRange(3))
    for race, told in (({"band": (50.0, 70.0)}, None), ({"race_class": "group 3"}, False)):
        found = setting_of(a_race(title="", kinds=frozenset(), **race))
        assert found is not None
        assert found.handicap is told
