"""Microchips and life numbers.

Sources: ISO 11784 (38 bits for the national number, 10 for country or manufacturer); the examples of the rules of
attribution at ueln.net; a Portuguese trade page for 620001.00224643.8; Canadian help page for Ireland's 372IRE.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from upsides.errors import UnreadableError
from upsides.trade import LifeNumber, Microchip


@pytest.mark.parametrize(
    ("typed", "digits", "country", "maker"),
    [
        ("826098100012345", "826098100012345", "826", None),
        ("826 0981 0001 2345", "826098100012345", "826", None),
        ("985-120-012345678", "985120012345678", None, "985"),
        ("９８５１２００１２３４５６７８", "985120012345678", None, "985"),
        ("372 274877906943", "372274877906943", "372", None),
        ("900–000000000001", "900000000000001", None, "900"),
    ],
)
def test_a_chip_is_read_as_typed(typed: str, digits: str, country: str | None, maker: str | None) -> None:
    """Blanks, dashes, full-width digits are read; below 900 the first three are a country's, else a manufacturer's."""
    chip = Microchip.parse(typed)
    assert (chip.digits, chip.country, chip.maker) == (digits, country, maker)
    assert Microchip.parse(str(chip)) == chip


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("82609810001234", "it has 14"),
        ("8260981000123456", "it has 16"),
        ("82609810001234O", "something else than digits"),
        ("999000000000001", "999 is no country"),
        ("000000000000001", "000 is no country"),
        ("372274877906944", "274877906943"),
        ("", "something else"),
        ("---", "something else"),
    ],
)
def test_what_no_chip_carries_is_refused_by_name(typed: str, why: str) -> None:
    """Too few or many digits, a letter, a test code, a number that 38 bits cannot hold: refused, each by name."""
    with pytest.raises(UnreadableError, match=why):
        Microchip.parse(typed)


@given(st.integers(1, 998), st.integers(0, 2**38 - 1), st.sampled_from(["", " ", "-", " - ", "."]))
def test_every_number_that_a_chip_holds_is_read(code: int, number: int, between: str) -> None:
    """Ten bits of code below 999 and 38 bits of number, however they are set apart, come back as 15 digits."""
    chip = Microchip.parse(f"{code:03d}{between}{number:012d}")
    assert chip.digits == f"{code:03d}{number:012d}"
    assert (chip.country is None) == (code >= 900)


@pytest.mark.parametrize(
    ("typed", "characters", "database"),
    [
        ("25000100155928M", "25000100155928M", "250001"),
        ("250001 00155928m", "25000100155928M", "250001"),
        ("372414001234567", "372414001234567", "372414"),
        ("1212120078M0234", "1212120078M0234", "121212"),
        ("620001.00224643.8", "620001002246438", "620001"),
        ("372IRE-001234567", "372IRE001234567", "372IRE"),
    ],
)
def test_a_life_number_is_read_as_typed(typed: str, characters: str, database: str) -> None:
    """The published examples are read in any case and with any separator; the first six name the database."""
    number = LifeNumber.parse(typed)
    assert (number.characters, number.database, number.country) == (characters, database, characters[:3])
    assert LifeNumber.parse(str(number)) == number


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("25000100155928", "it has 14"),
        ("GBR00100155928M", "GBR is no country's number"),
        ("985120012345678", "985 is no country's number"),
        ("25000100155928*", "something else in it"),
        ("000001001559281", "000 is no country's number"),
    ],
)
def test_what_is_no_life_number_is_refused_by_name(typed: str, why: str) -> None:
    """Too short, without a country's number in front, with a sign that is no letter or digit: refused, by name."""
    with pytest.raises(UnreadableError, match=why):
        LifeNumber.parse(typed)
