import os
import re
from pathlib import Path

import numpy as np
import polars as pl
import pytest

from upsides.demo import Invented
from upsides.demo.country import COURSES
from upsides.demo.names import LONGEST, every_horse_name, horse_names, person_names

SHARED = Path(os.environ.get("UPSIDES_SHARED") or Path(__file__).parents[3] / "shared" / "data")
REAL = (
    ("pedigree/horses_hk_to2018.csv.gz", ("horse_name", "sire", "dam", "dam_sire")),
    ("pedigree/tattersalls_lots_2010_2014.csv.gz", ("horse", "sire", "dam")),
    ("pedigree/thoroughbred_pedigree_from_lots.csv.gz", ("id",)),
    ("results/hk2014_runs.csv.gz", ("horse_name",)),
    ("results/world2019_runs.csv.gz", ("HorseName",)),
)


def folded(name: str) -> str:
    return re.sub(r"[^a-z]", "", re.sub(r"\(.*", "", name.lower()))


def real_values(file: str, columns: tuple[str, ...]) -> set[str]:
    path = SHARED / file
    if not path.exists():
        pytest.skip(f"real names to compare with are not here: {path} (set UPSIDES_SHARED)")
    table = pl.read_csv(path, infer_schema=False)
    return {folded(name) for column in columns for name in table[column].drop_nulls()}


@pytest.mark.parametrize(("file", "columns"), REAL, ids=[file for file, _ in REAL])
def test_no_possible_horse_name_is_a_real_horses(file: str, columns: tuple[str, ...]) -> None:
    """Nothing that the word lists can make, whatever the seed, is a name in the real tables."""
    assert not {folded(name) for name in every_horse_name()} & real_values(file, columns)


def test_no_course_is_a_real_one() -> None:
    """No invented course shares a name with a course in the real race headers."""
    real = real_values("results/ukire_race_headers_2017_2019.csv.gz", ("course",))
    assert not {folded(course.name) for course in COURSES} & real


def test_horse_names_are_different_and_short_enough() -> None:
    """Names drawn together never repeat and fit a racecard."""
    names = horse_names(np.random.default_rng(3), 2000)
    assert len(set(names)) == 2000
    assert max(len(name) for name in names) <= LONGEST


def test_people_have_different_surnames() -> None:
    """No two people drawn together share a surname."""
    names = person_names(np.random.default_rng(3), 168)
    assert len({name.split()[1] for name in names}) == 168


def test_every_horse_sire_and_dam_of_the_yard_has_its_own_name(invented: Invented) -> None:
    """No horse of the string is called like its sire, its dam or another horse."""
    names = [*invented.string["name"], *invented.string["dam"], *invented.string["sire"].unique()]
    assert len(set(names)) == len(names)
