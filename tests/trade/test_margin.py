from fractions import Fraction
from math import isnan
from pathlib import Path

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from upsides.errors import MarginNotListedError, NotComparableError, UnreadableError
from upsides.trade import Margin, parse_margins
from upsides.trade.margin import NAMES

# Source: margins.csv, list "Britain (general reference list)" and list "South Africa (explainer)".
BRITAIN = {"nose": 0.05, "short head": 0.1, "head": 0.2, "neck": 0.3}
SOUTH_AFRICA = {"nose": 0.05, "short head": 0.1, "head": 0.2, "neck": 0.25}
STYLES = ("words", "british", "american", "hong kong", "french", "japanese")
NOTHING = {"winner", "dead heat"}
ANY = st.one_of(
    st.builds(Margin, st.sampled_from(sorted(NAMES))),
    st.builds(lambda name: Margin(name, ahead=True), st.sampled_from(sorted(set(NAMES) - NOTHING))),
    st.builds(Margin.of_lengths, st.fractions(min_value=0, max_value=200, max_denominator=100)),
    st.builds(lambda quarters: Margin.of_lengths(Fraction(quarters, 4), ahead=True), st.integers(1, 800)),
)


@pytest.mark.parametrize(
    ("text", "lengths"),
    [
        ("1-1/4", "5/4"),
        ("1¼", "5/4"),
        ("1 1/4", "5/4"),
        ("1.1/4", "5/4"),
        ("1 L 1/4", "5/4"),
        ("1馬身1/4", "5/4"),
        ("１ １/４", "5/4"),
        ("½", "1/2"),
        ("3/4", "3/4"),
        ("half length", "1/2"),
        ("2 longueurs 1/2", "5/2"),
        ("2½l", "5/2"),
        ("0.25", "1/4"),
        ("55-1/2", "111/2"),
    ],
)
def test_lengths_are_read(text: str, lengths: str) -> None:
    """A margin in lengths is read exactly, however its fraction is written."""
    assert Margin.parse(text) == Margin(lengths=Fraction(lengths))


@pytest.mark.parametrize(
    ("texts", "name"),
    [
        ("NOSE nse nez ハナ", "nose"),
        ("SH shd sht-hd", "short head"),
        ("HD hd tête TETE アタマ ｱﾀﾏ", "head"),
        ("N nk neck encolure クビ", "neck"),
        ("dht DH 同着", "dead heat"),
        ("dist loin", "distance"),
        ("ML 大差", "many lengths"),
        ("-", "winner"),
    ],
)
def test_names_are_read_in_every_language(texts: str, name: str) -> None:
    """The same name is read from English, French and Japanese (common practice, no source)."""
    assert {Margin.parse(text).name for text in texts.split()} == {name}


def test_names_of_two_words_are_read() -> None:
    """Short head in French and short neck have a space in them."""
    assert Margin.parse("courte tête").name == "short head"
    assert Margin.parse("short neck").name == "short neck"


@pytest.mark.parametrize("text", ["---", "", "abc", "-3", "1/0", "999x", "+", "+-", "+0", "+dht"])
def test_nonsense_is_refused(text: str) -> None:
    """What writes no margin is refused, a plus before nothing included."""
    with pytest.raises(UnreadableError, match="margin"):
        Margin.parse(text)


def test_a_name_has_the_length_that_the_list_gives_it() -> None:
    """A neck is 0.3 lengths in one published list and 0.25 in another (margins.csv)."""
    neck = Margin.parse("nk")
    assert neck.in_lengths(BRITAIN) == 0.3
    assert neck.in_lengths(SOUTH_AFRICA) == 0.25


def test_a_name_that_the_list_lacks_is_an_error_but_a_distance_is_not() -> None:
    """A missing name is a fault of the list; a distance simply has no published number."""
    with pytest.raises(MarginNotListedError, match="long neck"):
        Margin.parse("long neck").in_lengths(BRITAIN)
    assert isnan(Margin.parse("dist").in_lengths(BRITAIN))
    assert Margin.parse("dist").in_lengths({"distance": 240.0}) == 240


def test_a_plus_means_in_front_of_the_official_winner() -> None:
    """A horse that was placed behind one it beat has a negative margin."""
    assert Margin.parse("+NOSE").in_lengths(BRITAIN) == -0.05
    assert Margin.parse("+1/2").in_lengths({}) == -0.5
    assert Margin.parse("+1/2") < Margin.parse("+NOSE") < Margin.parse("-") < Margin.parse("NOSE")


def test_names_are_ordered_as_every_list_orders_them() -> None:
    """The order of the names is that of margins.csv, in whichever list they stand."""
    written = ["-", "dht", "nose", "shd", "hd", "nk", "½", "¾", "1", "1¼", "30"]
    margins = [Margin.parse(text) for text in written]
    backwards = list(reversed(margins))
    assert sorted(backwards) == margins


@pytest.mark.parametrize(("one", "other"), [("nk", "1/4"), ("dist", "40"), ("long head", "half neck")])
def test_what_lists_disagree_on_has_no_order(one: str, other: str) -> None:
    """A neck is 0.25 or 0.3 lengths, so against a quarter of a length it has no order."""
    for first, second in ((one, other), (other, one)):
        with pytest.raises(NotComparableError):
            _ = Margin.parse(first) < Margin.parse(second)


@given(ANY)
def test_every_style_reads_back(margin: Margin) -> None:
    """Each style's text reads back to an equal margin with an equal hash."""
    for style in STYLES:
        again = Margin.parse(margin.text(style))  # type: ignore[arg-type]  # one of the styles
        assert again == margin
        assert hash(again) == hash(margin)


@pytest.mark.parametrize(
    ("style", "shown"),
    [
        ("british", ["shd", "1¼"]),
        ("american", ["short head", "1 1/4"]),
        ("hong kong", ["SH", "1-1/4"]),
        ("french", ["courte tête", "1 L 1/4"]),
    ],
)
def test_styles_write_the_same_margin_their_own_way(style: str, shown: list[str]) -> None:
    """A short head and a length and a quarter come out in each country's style."""
    margins = [Margin("short head"), Margin(lengths=Fraction(5, 4))]
    assert [m.text(style) for m in margins] == shown  # type: ignore[arg-type]  # the table's strings are styles


def test_a_column_of_margins() -> None:
    """A column gives lengths, NaN for what is missing or has no number, and a mask of what cannot be read."""
    column = parse_margins(["-", "N", "1-1/4", "---", "ML", "?", "+NOSE", None], BRITAIN)
    np.testing.assert_allclose(column.values, [0, 0.3, 1.25, np.nan, np.nan, np.nan, -0.05, np.nan])
    assert column.unreadable.tolist() == [False] * 5 + [True, False, False]


def test_every_margin_of_a_real_hong_kong_table_is_read(shared_results: Path) -> None:
    """No margin of the real table is unreadable, and only the three "ML" have no number though recorded."""
    table = pl.read_csv(shared_results / "hk2014_runs.csv.gz", columns=["length_behind_winner"])
    column = parse_margins(table["length_behind_winner"], BRITAIN)
    assert not column.unreadable.any()
    without = table["length_behind_winner"].is_in(["---", "ML"])
    np.testing.assert_array_equal(np.isnan(column.values), without.to_numpy())
