import os
import re
from pathlib import Path

import numpy as np
import polars as pl
import pytest

from upsides.demo import Invented
from upsides.demo.courses import ALL_COURSES
from upsides.demo.names import LONGEST, every_horse_name, every_surname, horse_names, person_names

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


def real_words(file: str, columns: tuple[str, ...]) -> set[str]:
    path = SHARED / file
    if not path.exists():
        pytest.skip(f"real names to compare with are not here: {path} (set UPSIDES_SHARED)")
    table = pl.read_csv(path, columns=list(columns), infer_schema=False)
    found = pl.concat([table[column].drop_nulls().unique() for column in columns])
    return set(found.str.to_lowercase().str.extract_all("[a-z]+").explode().drop_nulls())


@pytest.mark.parametrize(("file", "columns"), REAL, ids=[file for file, _ in REAL])
def test_no_possible_horse_name_is_a_real_horses(file: str, columns: tuple[str, ...]) -> None:
    """Nothing that the word lists can make, whatever the seed, is a name in the real tables."""
    assert not {folded(name) for name in every_horse_name()} & real_values(file, columns)


def test_no_course_is_a_real_one() -> None:
    """No invented course shares a name with a course in the real race headers."""
    real = real_values("results/ukire_race_headers_2017_2019.csv.gz", ("course",))
    assert not {folded(course.name) for course in ALL_COURSES} & real


def test_no_possible_surname_stands_in_a_real_name() -> None:
    """No surname that the word lists can make is a word of a real horse's name or of a real course or race."""
    real = {word for file, columns in REAL for word in real_words(file, columns)}
    real |= real_words("results/ukire_race_headers_2017_2019.csv.gz", ("course", "title"))
    assert len(real) > 10_000
    assert not {surname.lower() for surname in every_surname()} & real


def test_yard_and_barns_are_not_named_for_real_places(invented: Invented) -> None:
    """The yard's name is no word of a real course, race or horse, and no barn is called like a course."""
    header = "results/ukire_race_headers_2017_2019.csv.gz"
    real = {word for file, columns in REAL for word in real_words(file, columns)}
    assert invented.yard.name.lower() not in real | real_words(header, ("course", "title"))
    assert not {folded(barn) for barn in invented.yard.barns} & real_values(header, ("course",))


def test_horse_names_are_different_and_short_enough() -> None:
    """Names drawn together never repeat and fit a racecard."""
    names = horse_names(np.random.default_rng(3), 2000)
    assert len(set(names)) == 2000
    assert max(len(name) for name in names) <= LONGEST


def test_people_have_different_surnames() -> None:
    """No two people drawn together share a surname."""
    names = person_names(np.random.default_rng(3), 320)
    assert len({name.split()[1] for name in names}) == 320


def test_every_horse_sire_and_dam_of_the_yard_has_its_own_name(invented: Invented) -> None:
    """No horse of the string is called like its sire, its dam or another horse."""
    names = [*invented.string["name"], *invented.string["dam"], *invented.string["sire"].unique()]
    assert len(set(names)) == len(names)
