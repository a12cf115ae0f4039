"""The register of the invented country: who its horses descend from."""

from datetime import date
from itertools import pairwise

import numpy as np
import polars as pl
import pytest

from upsides.demo import Invented, ancestry, invented, simulate
from upsides.demo.ancestry import GENERATIONS
from upsides.demo.horses import Horses
from upsides.demo.names import LONGEST, every_horse_name

Parents = dict[str, tuple[str, str]]


@pytest.fixture(scope="module")
def parents(invented: Invented) -> Parents:
    """Return the sire and the dam of every animal of the register, by name."""
    return {row["name"]: (row["sire"], row["dam"]) for row in invented.register.to_dicts()}


def test_the_register_begins_with_the_country(invented: Invented) -> None:
    """Every horse of the country stands in it once, in order, as the races and the yard's string have it."""
    register = invented.register
    own = register.head(invented.truth_horses.height)
    assert own["source_horse"].to_list() == invented.truth_horses["source_horse"].to_list()
    assert register["source_horse"].is_unique().all()
    ran = invented.runs.unique("source_horse").join(register, on="source_horse", how="left", suffix="_told")
    assert (ran["horse_name"] == ran["name"]).all()
    assert (ran["foaled"] == ran["foaled_told"]).all()
    assert (ran["sex"].is_in(["filly", "mare"]) == (ran["sex_told"] == "female")).all()
    string = invented.string.join(register, on="source_horse", how="left", suffix="_told")
    assert (string["sire"] == string["sire_told"]).all()
    assert (string["dam"] == string["dam_told"]).all()


def test_every_name_is_borne_once_and_invented(invented: Invented) -> None:
    """Ancestors have names of the word lists that nobody else bears, and every parent stands in the register."""
    names = invented.register["name"]
    assert names.is_unique().all()
    assert set(names) <= set(every_horse_name())
    assert names.str.len_chars().max() <= LONGEST
    assert set(invented.register["sire"]) | set(invented.register["dam"]) <= {*names, ""}


def test_sires_are_male_and_dams_female_and_both_are_older(invented: Invented) -> None:
    """A parent is of the right sex, and at least four years old and at most twenty when its foal is born."""
    told = invented.register.select("name", "foaled", "sex")
    for side, sex in (("sire", "male"), ("dam", "female")):
        pairs = invented.register.filter(pl.col(side) != "").join(told, left_on=side, right_on="name", suffix="_of")
        assert set(pairs["sex_of"]) == {sex}
        age = pairs["foaled"] - pairs["foaled_of"]
        assert (age.min(), age.max()) >= (4, 4)
        assert age.max() <= 20


def lines_of(name: str, parents: Parents, generations: int) -> list[list[str]]:
    """Return the names of each generation behind a horse, unknown ones left out."""
    found = [[name]]
    for _ in range(generations):
        found.append([one for child in found[-1] for one in parents[child] if one])
    return found[1:]


def test_four_generations_stand_behind_sires_and_dams(invented: Invented, parents: Parents) -> None:
    """Sires and dams have both parents; behind these, all that is missing is behind mares of unknown breeding."""
    abroad = {name for name, (sire, _) in parents.items() if not sire}
    for name in invented.string["name"]:
        own = lines_of(name, parents, GENERATIONS + 1)
        assert [len(own[0]), len(own[1])] == [2, 4]
        for before, after in pairwise(own[1:]):
            assert len(after) == 2 * sum(one not in abroad for one in before)
    full = [len(lines_of(name, parents, GENERATIONS + 1)[-1]) == 32 for name in invented.string["name"]]
    assert 0.5 < np.mean(full) < 0.95


def test_pedigrees_meet_but_not_too_closely(invented: Invented, parents: Parents) -> None:
    """Nearly every horse has an ancestor twice in five generations; none is by its dam's sire."""
    twice = [len(set(names)) < len(names) for names in (
        [one for generation in lines_of(name, parents, 5) for one in generation] for name in invented.string["name"]
    )]  # fmt: skip
    assert np.mean(twice) > 0.8
    assert not [name for name, (sire, dam) in parents.items() if sire and dam and parents[dam][0] == sire]


def test_races_do_not_depend_on_the_register(other: Invented, monkeypatch: pytest.MonkeyPatch) -> None:
    """With another register the races, runs, string and diary are the same to the last bit."""

    def another(rng: np.random.Generator, horses: Horses) -> pl.DataFrame:
        rng.random(1000)
        return ancestry.register(np.random.default_rng(99), horses)

    monkeypatch.setattr(invented, "register", another)
    again = simulate(5, first=date(2026, 3, 1))
    assert not again.register.equals(other.register)
    for name in (
        "races",
        "runs",
        "string",
        "people",
        "shares",
        "stays",
        "work",
        "truth",
        "truth_horses",
        "truth_draws",
    ):
        assert getattr(again, name).equals(getattr(other, name)), name


def test_a_seed_gives_one_register(other: Invented) -> None:
    """The same seed gives the same register again, another seed another."""
    world = simulate(5, first=date(2026, 6, 1))
    assert world.register.equals(other.register)
    assert not simulate(6, first=date(2026, 6, 1)).register.equals(other.register)
