from pathlib import Path

import numpy as np
import polars as pl
import pytest

from upsides.errors import UnreadableError
from upsides.trade import Born, Sex, parse_born, parse_sexes


def test_letters_of_english_cards() -> None:
    """The letters c, f, h, m, g and r name the six sexes (common practice, no source)."""
    assert [Sex.parse(letter) for letter in "cfhmgr"] == [
        Sex.COLT,
        Sex.FILLY,
        Sex.HORSE,
        Sex.MARE,
        Sex.GELDING,
        Sex.RIDGLING,
    ]
    assert all(Sex.parse(sex.letter) is sex for sex in Sex)
    assert all(Sex.parse(str(sex)) is sex for sex in Sex)


@pytest.mark.parametrize(
    ("text", "language", "age", "sex"),
    [
        ("Rig", "english", None, Sex.RIDGLING),
        ("Male", "english", 2, Sex.COLT),
        ("female", "english", 5, Sex.MARE),
        ("GELDING", "english", None, Sex.GELDING),
        ("mâle", "french", 3, Sex.COLT),
        ("M", "french", 5, Sex.HORSE),
        ("femelle", "french", 3, Sex.FILLY),
        ("hongre", "french", None, Sex.GELDING),
        ("H", "french", None, Sex.GELDING),
        ("牡", "japanese", 3, Sex.COLT),
        ("牝", "japanese", 6, Sex.MARE),
        ("セ", "japanese", None, Sex.GELDING),
        ("ｾﾝ", "japanese", None, Sex.GELDING),
    ],
)
def test_every_country_is_read(text: str, language: str, age: int | None, sex: Sex) -> None:
    """Words and letters are read in the language that they belong to (common practice, no source)."""
    assert Sex.parse(text, language, age) is sex  # type: ignore[arg-type]  # the table's strings are languages


def test_a_colour_is_refused_as_a_colour() -> None:
    """A colour that has slipped into the column of sexes is named as one."""
    with pytest.raises(UnreadableError, match="colour"):
        Sex.parse("Brown")


@pytest.mark.parametrize("text", ["A", "", "x", "牡", "male", "Female"])
def test_what_names_no_sex_is_refused(text: str) -> None:
    """An unknown letter, nothing, or a word for male without an age is refused."""
    with pytest.raises(UnreadableError, match="sex"):
        Sex.parse(text)


def test_a_colt_becomes_a_horse_and_a_filly_a_mare() -> None:
    """At five in Britain, four where the caller says so; geldings and ridglings keep their name."""
    assert (Sex.COLT.at(4), Sex.COLT.at(5), Sex.COLT.at(4, grown_up_at=4)) == (Sex.COLT, Sex.HORSE, Sex.HORSE)
    assert (Sex.MARE.at(3), Sex.FILLY.at(5)) == (Sex.FILLY, Sex.MARE)
    assert (Sex.GELDING.at(9), Sex.RIDGLING.at(2)) == (Sex.GELDING, Sex.RIDGLING)
    assert [sex for sex in Sex if sex.is_female] == [Sex.FILLY, Sex.MARE]


def test_real_thoroughbreds_change_name_at_five(shared_results: Path) -> None:
    """In a real table of thoroughbreds of several countries the recorded sex agrees with the age of five.

    Ages of 12 and more are left out: the table has colts and fillies of "15" and "16" there, which are no
    ages.
    """
    table = pl.read_csv(shared_results / "world2019_runs.csv.gz", columns=["Type", "Age", "Sex"])
    thoroughbreds = table.filter((pl.col("Type") == "Thoroughbred") & (pl.col("Age") < 12))
    runners = thoroughbreds.filter(pl.col("Sex").is_in(["C", "F", "H", "M"]))
    recorded = runners.select("Age", "Sex").unique().rows()
    assert recorded
    assert all(Sex.parse(sex).at(int(age)) is Sex.parse(sex) for age, sex in recorded)


def test_a_column_of_sexes() -> None:
    """A column gives the six words, nothing where nothing is written, and a mask of what cannot be read."""
    column = parse_sexes(["c", "Gelding", None, "Brown", "牡", ""])
    assert column.values.tolist() == ["colt", "gelding", "", "", "", ""]
    assert column.unreadable.tolist() == [False, False, False, True, True, False]


def test_a_column_of_sexes_with_ages_agrees_with_one_by_one() -> None:
    """With ages every word for male or female reads as `Sex.parse` reads it; without an age it is unreadable."""
    texts, ages = ["牡", "牡", "牝", "牝", "セ", "牝"], np.array([3.0, 5, 4, 6, 8, np.nan])
    column = parse_sexes(texts, "japanese", ages)
    one_by_one = [str(Sex.parse(text, "japanese", int(age))) for text, age in zip(texts[:5], ages[:5], strict=True)]
    assert column.values.tolist() == [*one_by_one, ""]
    assert column.unreadable.tolist() == [False] * 5 + [True]
    assert parse_sexes(["M", "H"], "french", np.array([4.0, 4.0]), 4).values.tolist() == ["horse", "gelding"]


@pytest.mark.parametrize(
    ("text", "language", "born"),
    [
        ("Male", "english", Born.MALE),
        ("FEMALE", "english", Born.FEMALE),
        ("gelding", "english", Born.MALE),
        ("rig", "english", Born.MALE),
        ("M", "english", Born.FEMALE),
        ("M", "french", Born.MALE),
        ("H", "french", Born.MALE),
        ("牝", "japanese", Born.FEMALE),
    ],
)
def test_what_a_horse_was_born_needs_no_age(text: str, language: str, born: Born) -> None:
    """Every word for a sex says whether the horse was born male or female; a gelding was born male."""
    assert Born.parse(text, language) is born  # type: ignore[arg-type]  # the table's strings are languages


def test_no_horse_is_born_otherwise_than_it_is() -> None:
    """Of the six words those for females are just those of horses born female."""
    assert {sex for sex in Sex if sex.born is Born.FEMALE} == {sex for sex in Sex if sex.is_female}
    with pytest.raises(UnreadableError, match="colour"):
        Born.parse("Roan")


def test_a_column_of_what_horses_were_born() -> None:
    """A column gives male or female, nothing where nothing is written, and a mask of what cannot be read."""
    column = parse_born(["Female", "male", "g", None, "Brown", "filly", ""])
    assert column.values.tolist() == ["female", "male", "male", "", "", "female", ""]
    assert column.unreadable.tolist() == [False, False, False, False, True, False, False]
