from fractions import Fraction

import pytest

from upsides.trade import CONVENTIONS, Weight, agreed_kilograms, agreed_metres, agreed_pounds
from upsides.trade.convention import AGREED_POUND


@pytest.mark.parametrize(("pounds", "kilograms"), [(1, "0.5"), (3, "1.5")])
def test_the_pattern_committee_equates_pounds_with_half_kilograms(pounds: int, kilograms: str) -> None:
    """RC28: 1 lb is 0.5 kg and 3 lb is 1.5 kg (European Pattern Committee release, 22 Sep 2016)."""
    assert agreed_kilograms(pounds) == Fraction(kilograms)
    assert agreed_pounds(Fraction(kilograms)) == pounds


def test_the_agreed_pound_is_not_the_pound() -> None:
    """The convention of RC28 must differ from the exact mass, which is 0.45359237 kg by definition."""
    assert Weight.from_pounds(1).mass == Fraction("0.45359237") != agreed_kilograms(1)


def test_a_convention_cannot_be_multiplied_like_a_unit() -> None:
    """A convention is not a number, so taking it for a unit fails at once."""
    with pytest.raises(TypeError):
        _ = 3 * AGREED_POUND  # type: ignore[operator]  # the mistake under test


def test_the_agreed_furlong_is_two_hundred_metres_and_marked_as_memory() -> None:
    """1 furlong as 200 m is from memory, so the convention must say so."""
    assert agreed_metres(6) == 1200
    assert [c.confidence for c in CONVENTIONS if c.unit == "m" and c.value == 200] == ["memory"]


def test_every_convention_names_its_source() -> None:
    """No convention stands without what it says, its source and its confidence."""
    assert all(c.says and c.source and c.confidence for c in CONVENTIONS)
