from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from upsides.errors import UnreadableError
from upsides.trade.reading import exact, mixed, number, read_column, tidy, vulgar, written

POSITIVE = st.fractions(min_value=0, max_value=10_000, max_denominator=1000)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("57.5", "57.5"),
        ("57,5", "57.5"),
        ("1-1/4", "5/4"),
        ("1 1/4", "5/4"),
        ("1.1/4", "5/4"),
        ("3/4", "3/4"),
        (".5", "0.5"),
        ("12", "12"),
    ],
)
def test_numbers_are_read_as_the_trade_writes_them(text: str, value: str) -> None:
    """Decimal points, decimal commas and common fractions all read to the same exact number."""
    assert number(text) == Fraction(value)


@pytest.mark.parametrize("text", ["", ".", "1/0", "1-", "one", "1e5", "-3", "1.2.3", "9" * 5000])
def test_what_is_no_number_is_none(text: str) -> None:
    """Text that writes no number gives None and never an exception, however long it is."""
    assert number(text) is None


def test_tidy_makes_one_spelling_of_many() -> None:
    """Full-width digits, half-width kana, accents, odd spaces and vulgar fractions come out plain."""
    assert tidy("１\u00a0Ｍ") == "1 m"
    assert tidy("ﾊﾅ") == tidy("ハナ")
    assert tidy("Tête ") == "tete"
    assert tidy("1¼") == "1 1/4"


@given(POSITIVE)
def test_written_numbers_read_back(value: Fraction) -> None:
    """Every way of writing a number reads back to it exactly."""
    assert number(written(value)) == value
    assert number(mixed(value, "-")) == value
    assert number(tidy(vulgar(value))) == value


@given(st.floats(min_value=0.01, max_value=1e6))
def test_a_float_counts_as_the_decimal_that_prints_it(value: float) -> None:
    """A float becomes the fraction of its shortest decimal: 57.1 is 571/10, not its binary expansion."""
    assert exact(value) == Fraction(str(value))
    assert float(exact(value)) == value


@pytest.mark.parametrize("value", [float("nan"), float("inf"), "x"])
def test_what_is_not_finite_is_refused(value: float | str) -> None:
    """Neither infinity nor not-a-number becomes a value of the trade."""
    with pytest.raises(UnreadableError):
        exact(value)


def test_a_column_reads_each_distinct_text_once_and_marks_the_unreadable() -> None:
    """Missing cells are NaN, unreadable cells are NaN and marked, and the reader sees each text once."""
    seen: list[str] = []

    def read(text: str) -> float:
        seen.append(text)
        if text == "?":
            raise UnreadableError("number", text, "1")
        return float(text)

    column = read_column(["1", None, "?", "", "1", " ", "NA", "---", "2", "?"], read)
    np.testing.assert_array_equal(column.values, [1, np.nan, np.nan, np.nan, 1, *[np.nan] * 3, 2, np.nan])
    assert column.unreadable.tolist() == [False, False, True, *[False] * 6, True]
    assert seen == ["1", "?", "2"]


def test_an_empty_column_gives_empty_arrays() -> None:
    """No cells in, no cells out."""
    column = read_column([], float)
    assert column.values.shape == column.unreadable.shape == (0,)
