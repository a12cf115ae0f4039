from datetime import date
from pathlib import Path

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from upsides.errors import UnreadableError
from upsides.trade import Age, AgeRange, official_age, parse_ages

# Source: official ages by hemisphere (racing-standards.md 5, S165): 1 January in the northern hemisphere,
# 1 August in Australia, New Zealand and South Africa, 1 July in South America.
NORTH, AUSTRALIA, SOUTH_AMERICA = (1, 1), (8, 1), (7, 1)
RANGES = st.builds(AgeRange, st.integers(0, 40)) | st.tuples(st.integers(0, 40), st.integers(0, 40)).map(
    lambda pair: AgeRange(min(pair), max(pair))
)


@pytest.mark.parametrize(
    ("text", "youngest", "oldest"),
    [
        ("2yo", 2, 2),
        ("3yo+", 3, None),
        ("4-6yo", 4, 6),
        ("3yo only", 3, 3),
        ("4 y.o. and up", 4, None),
        ("4yo and upwards", 4, None),
        ("3-year-olds and up", 3, None),
        ("3&UP", 3, None),
        ("3+", 3, None),
        ("3 et 4 ans", 3, 4),
        ("3 ans et plus", 3, None),
        ("2 ans", 2, 2),
        ("2歳", 2, 2),
        ("3歳以上", 3, None),
        ("4歳上", 4, None),
    ],
)
def test_ages_of_a_race_are_read(text: str, youngest: int, oldest: int | None) -> None:
    """The ages that a race is open to are read in English, French and Japanese."""
    assert AgeRange.parse(text) == AgeRange(youngest, oldest)


@pytest.mark.parametrize("text", ["", "old", "6-4yo", "3yo++", "99yo", "yo"])
def test_wrong_ages_are_refused(text: str) -> None:
    """Nonsense, and ranges with the older age first, are refused."""
    with pytest.raises(UnreadableError, match="ages"):
        AgeRange.parse(text)


def test_membership_and_order() -> None:
    """A range holds its ages, one without an upper limit all above, and ranges sort youngest first."""
    assert [age for age in range(9) if age in AgeRange.parse("4-6yo")] == [4, 5, 6]
    assert Age(12) in AgeRange.parse("3yo+")
    written = ["2yo", "2yo+", "3yo", "3-4yo", "3yo+"]
    assert [str(ages) for ages in sorted(map(AgeRange.parse, reversed(written)))] == written


@given(RANGES)
def test_ranges_read_back(ages: AgeRange) -> None:
    """The text of a range reads back to it."""
    assert AgeRange.parse(str(ages)) == ages


@given(st.integers(0, 40))
def test_ages_read_back(years: int) -> None:
    """The text of an age reads back to it, and so does a bare number."""
    assert Age.parse(str(Age(years))) == Age(years) == Age.parse(str(years))


@pytest.mark.parametrize(
    ("foaled", "on", "birthday", "years"),
    [
        # A northern foal of 31 December turns one the next day; one of 2 January, a year later.
        # Source: web article that explains the universal birthday of racehorses, April 2013.
        (date(2012, 12, 31), date(2013, 1, 1), NORTH, 1),
        (date(2012, 12, 31), date(2014, 1, 1), NORTH, 2),
        (date(2012, 1, 2), date(2012, 12, 31), NORTH, 0),
        (date(2012, 1, 2), date(2013, 1, 1), NORTH, 1),
        (date(2012, 1, 1), date(2012, 12, 31), NORTH, 0),
        (date(2010, 9, 15), date(2012, 7, 31), AUSTRALIA, 1),
        (date(2010, 9, 15), date(2012, 8, 1), AUSTRALIA, 2),
        (date(2010, 9, 15), date(2012, 7, 1), SOUTH_AMERICA, 2),
    ],
)
def test_official_age_counts_official_birthdays(foaled: date, on: date, birthday: tuple[int, int], years: int) -> None:
    """The official age grows on the official birthday and on no other day."""
    assert official_age(foaled, on, birthday) == Age(years)


def test_a_horse_has_no_age_before_it_is_foaled() -> None:
    """A day before the foaling day is refused."""
    with pytest.raises(UnreadableError, match="foaling"):
        official_age(date(2012, 3, 1), date(2012, 2, 28), NORTH)


def test_every_age_condition_of_british_and_irish_racing_is_read(shared_results: Path) -> None:
    """Every age condition of the real table is read and prints back as written."""
    table = pl.read_csv(shared_results / "ukire_race_headers_2017_2019.csv.gz", columns=["ages"])
    written = table["ages"].drop_nulls().unique().to_list()
    assert [str(AgeRange.parse(text)) for text in written] == written


def test_a_column_of_ages() -> None:
    """A column gives years, NaN where nothing is written, and a mask of what cannot be read."""
    column = parse_ages(["3yo", "3", "4 ans", "5歳", None, "old", "NA"])
    np.testing.assert_array_equal(column.values, [3, 3, 4, 5, np.nan, np.nan, np.nan])
    assert column.unreadable.tolist() == [False] * 5 + [True, False]
