from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from upsides.errors import UnreadableError
from upsides.trade import Weight, parse_weights

ANY = st.builds(
    Weight,
    st.one_of(
        st.fractions(min_value=Fraction(1, 10), max_value=900, max_denominator=1000),
        st.integers(1, 500).map(lambda halves: halves * Fraction("0.226796185")),
    ),
    st.sampled_from(["st", "lb", "kg"]),
)

# Source: racing_check_values.csv RC05-RC09, RC11: weights of a handicap and of a claim, with their pounds.
PUBLISHED = [("9-7", 133), ("8-11", 123), ("8-7", 119), ("9-9", 135), ("8-12", 124)]


@pytest.mark.parametrize(("text", "pounds"), PUBLISHED)
def test_stones_and_pounds_are_the_published_pounds(text: str, pounds: int) -> None:
    """A weight in stones and pounds is the published number of pounds and prints back as written."""
    weight = Weight.parse(text)
    assert weight.pounds == pounds
    assert str(weight) == text
    assert Weight.from_pounds(pounds).text("british") == text


def test_the_difference_of_two_published_race_weights() -> None:
    """RC14: 9st 9lb less 8st 13lb is 10 lb (conditions of an early-July Group 1)."""
    assert Weight.parse("9st 9lb").pounds - Weight.parse("8st 13lb").pounds == 10


@pytest.mark.parametrize(
    ("text", "kilograms"),
    [
        ("9st 7lb", "60.32778521"),
        ("9st7", "60.32778521"),
        ("9st 7 lbs", "60.32778521"),
        ("9 st. 7 lb", "60.32778521"),
        ("9st", "57.15263862"),
        ("126", "57.15263862"),
        ("126 lb", "57.15263862"),
        ("126lbs", "57.15263862"),
        ("57.5 kg", "57.5"),
        ("57,5 kg", "57.5"),
        ("57.5k", "57.5"),
        ("57½ kg", "57.5"),
        ("57.5", "57.5"),
        ("57-1/2", "57.5"),
        ("５７．５", "57.5"),
    ],
)
def test_every_country_is_read(text: str, kilograms: str) -> None:
    """Weights are read as each country writes them; a stone is 6.35029318 kg by definition."""
    assert Weight.parse(text).mass == Fraction(kilograms)


@pytest.mark.parametrize("text", ["9-14", "85", "9.7", "300", "", "0 kg", "-5 kg", "heavy", "9-", "9-7-3", "9-1/2"])
def test_doubtful_weights_are_refused(text: str) -> None:
    """Fourteen pounds after stones, bare numbers of doubtful size, and nonsense are refused."""
    with pytest.raises(UnreadableError, match="weight"):
        Weight.parse(text)


def test_a_bare_number_takes_the_caller_s_unit() -> None:
    """A body mass of 1,102 has its unit from the table, not from its size."""
    assert Weight.parse("1102", "lb").pounds == 1102
    assert Weight.parse("480", "kg").kilograms == 480


def test_weights_compare_by_mass() -> None:
    """Equal masses are equal in any unit, and 57 kg is lighter than 9st 0lb, which is 57.15 kg."""
    assert len({Weight.parse(text) for text in ("9-0", "126 lb", "57.15263862 kg")}) == 1
    assert Weight.parse("57 kg") < Weight.parse("9-0") < Weight.parse("57.5 kg")


@pytest.mark.parametrize(
    ("style", "shown"),
    [
        ("british", "9-7"),
        ("british words", "9st 7lb"),
        ("american", "133"),
        ("hong kong", "133"),
        ("metric", "60.5 kg"),
        ("french", "60,5 kg"),
    ],
)
def test_styles_write_the_same_weight_their_own_way(style: str, shown: str) -> None:
    """Nine stone seven comes out in each country's style."""
    assert Weight.parse("9-7").text(style) == shown  # type: ignore[arg-type]  # the table's strings are styles


@given(ANY)
def test_str_reads_back(weight: Weight) -> None:
    """The canonical text reads back to an equal weight with an equal hash."""
    again = Weight.parse(str(weight))
    assert again == weight
    assert hash(again) == hash(weight)


@given(st.integers(180, 440))
def test_half_pounds_survive_every_imperial_style(halves: int) -> None:
    """A weight in half pounds reads back exactly from stones and from pounds."""
    weight = Weight.from_pounds(Fraction(halves, 2))
    for style in ("british", "british words", "american"):
        assert Weight.parse(weight.text(style)) == weight


def test_a_column_of_weights() -> None:
    """A column gives pounds, NaN where nothing is written, and a mask of what cannot be read."""
    column = parse_weights(["9-7", "126", None, "-", "57,5 kg"])
    np.testing.assert_allclose(column.values, [133, 126, np.nan, np.nan, 57.5 / 0.45359237])
    assert column.unreadable.tolist() == [False, False, False, True, False]
