"""The invented yard: its horses, its people and who owns what."""

import re
from fractions import Fraction
from zoneinfo import ZoneInfo

import polars as pl
import pytest

from upsides.demo import Invented

ROLES = {"trainer", "assistant", "head_person", "carer", "rider", "secretary", "vet", "owner"}


def with_role(people: pl.DataFrame, role: str) -> pl.DataFrame:
    return people.filter(pl.col("roles").list.contains(role))


@pytest.fixture(scope="module")
def started(invented: Invented) -> pl.DataFrame:
    """Every start of the string's horses, with the day the horse joined."""
    ran = invented.runs.filter(pl.col("outcome") != "withdrawn")
    return ran.join(invented.string.select("source_horse", "joined"), on="source_horse")


def test_the_yard_has_a_place(invented: Invented) -> None:
    """The yard has a name, a zone that the clock knows, and the country of its races."""
    assert invented.yard.name
    assert ZoneInfo(invented.yard.zone).key == invented.yard.zone
    assert set(invented.races["country"]) == {invented.yard.country}


def test_string_is_a_full_yard(invented: Invented) -> None:
    """Ninety horses from two to seven, a third of them two-year-olds, sprinters to stayers."""
    string = invented.string
    age = invented.today.year - string["foaled"]
    trips = string.join(invented.truth_horses, on="source_horse")["best_trip_m"]
    assert string.columns == ["source_horse", "name", "foaled", "sex", "sire", "dam", "joined", "barn", "box", "carer"]
    assert string.height == 90
    assert string["source_horse"].is_unique().all()
    assert (age.min(), age.max()) == (2, 7)
    assert 25 <= (age == 2).sum() <= 35
    assert float(trips.quantile(0.1)) < 1250
    assert float(trips.quantile(0.9)) > 2100


def test_some_two_year_olds_have_not_run(invented: Invented, started: pl.DataFrame) -> None:
    """Fifteen to twenty two-year-olds have yet to run; nearly everything older has."""
    yet = invented.string.filter(~pl.col("source_horse").is_in(started["source_horse"].implode()))
    young = pl.col("foaled") == invented.today.year - 2
    assert 15 <= yet.filter(young).height <= 20
    assert yet.filter(~young).height <= 3


def test_horses_joined_before_they_ran_for_the_yard(invented: Invented, started: pl.DataFrame) -> None:
    """From the day it joined a horse runs for the yard's trainer, before that day for another; a few came so."""
    trainer = invented.people["name"][0]
    assert (invented.string["joined"] <= invented.today).all()
    assert set(started.filter(pl.col("date") >= pl.col("joined"))["trainer"]) == {trainer}
    before = started.filter(pl.col("date") < pl.col("joined"))
    assert trainer not in set(before["trainer"])
    assert 1 <= before["source_horse"].n_unique() <= 12


def test_everybody_has_a_login_of_their_own(invented: Invented) -> None:
    """Logins are unique and of lower-case ASCII letters, and every role is a known one."""
    people = invented.people
    assert people["login"].is_unique().all()
    assert all(re.fullmatch(r"[a-z]+", login) for login in people["login"])
    assert people["name"].is_unique().all()
    assert set(people["roles"].explode()) == ROLES


def test_the_yard_is_staffed(invented: Invented) -> None:
    """One trainer, who trains in the results; assistants, a head person for each barn, carers, riders, owners."""
    people, barns = invented.people, set(invented.yard.barns)
    heads, carers, riders = (with_role(people, role) for role in ("head_person", "carer", "rider"))
    assert with_role(people, "trainer")["name"].to_list() == [people["name"][0]]
    assert people["name"][0] in set(invented.runs["trainer"])
    assert [with_role(people, role).height for role in ("assistant", "secretary", "vet")] == [2, 1, 1]
    assert sorted(heads["barn"]) == sorted(barns)
    assert carers.height == 20
    assert set(carers["barn"]) == barns
    assert with_role(carers, "rider").height >= 8
    assert riders.filter(pl.col("roles").list.len() == 1).height == 8
    assert with_role(people, "owner").height == 40
    assert people.height - with_role(people, "owner").height == 36


def test_every_horse_has_a_box_and_a_carer_of_its_barn(invented: Invented) -> None:
    """Barns hold thirty horses each, and every horse is looked after by someone of its barn, four or five a person."""
    carers = with_role(invented.people, "carer").select(carer="login", works_in="barn")
    housed = invented.string.join(carers, on="carer", how="left")
    assert (housed["barn"] == housed["works_in"]).all()
    assert invented.string["barn"].value_counts()["count"].to_list() == [30, 30, 30]
    assert set(invented.string["carer"].value_counts()["count"]) <= {4, 5}


def test_shares_of_every_horse_add_up_to_one(invented: Invented) -> None:
    """As fractions, the shares of each horse of the string add up to exactly one, each held by an owner once."""
    held: dict[str, Fraction] = {}
    for horse, numerator, denominator in invented.shares.select("source_horse", "numerator", "denominator").rows():
        assert 1 <= numerator <= denominator
        held[horse] = held.get(horse, Fraction(0)) + Fraction(numerator, denominator)
    assert set(held) == set(invented.string["source_horse"])
    assert set(held.values()) == {Fraction(1)}
    assert not invented.shares.select("source_horse", "owner").is_duplicated().any()


def test_shares_are_of_their_kind(invented: Invented) -> None:
    """A sole owner or lessee holds a horse alone, a partnership is two or three, a syndicate more; from joining on."""
    horses = invented.shares.group_by("source_horse").agg(pl.col("kind").unique(), holders=pl.len())
    assert (horses["kind"].list.len() == 1).all()
    holders = horses.explode("kind").group_by("kind").agg(pl.col("holders").min(), most=pl.col("holders").max())
    assert {row[0]: row[1:] for row in holders.rows()} == {
        "sole": (1, 1),
        "lease": (1, 1),
        "partnership": (2, 3),
        "syndicate": (5, 8),
    }
    both = invented.shares.join(invented.string, on="source_horse")
    assert (both["first_day"] == both["joined"]).all()


def test_owners_differ_in_size(invented: Invented) -> None:
    """Everybody with the role owns something and nobody else does; one owner has about twelve horses, many have one."""
    horses = invented.shares.group_by("owner").len()
    assert set(horses["owner"]) == set(with_role(invented.people, "owner")["login"])
    assert 11 <= int(horses["len"].max()) <= 14
    assert int((horses["len"] == 1).sum()) >= 12
