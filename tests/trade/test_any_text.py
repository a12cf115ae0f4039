from collections.abc import Callable
from contextlib import suppress
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from upsides.errors import UnreadableError
from upsides.trade import (
    Age,
    AgeRange,
    Born,
    Distance,
    Going,
    LifeNumber,
    Margin,
    Microchip,
    Pace,
    RaceTime,
    Sex,
    Surface,
    Weight,
)

PIECES = st.sampled_from(
    [
        *"0123456789 .,:-/+()'\"mfyk½¼",
        "st",
        "lb",
        "kg",
        "miles",
        " to ",
        "good",
        " in places",
        "yo",
        "ans",
        "馬身",
        "分",
    ]
)
TEXT = st.text(max_size=12) | st.lists(PIECES, max_size=8).map("".join)
PARSERS: list[Callable[[str], object]] = [
    Age.parse,
    AgeRange.parse,
    Born.parse,
    Distance.parse,
    LifeNumber.parse,
    Margin.parse,
    Microchip.parse,
    Pace.parse,
    RaceTime.parse,
    Sex.parse,
    Surface.parse,
    Weight.parse,
    lambda text: Distance.parse(text, "furlongs"),
    lambda text: Weight.parse(text, "kg"),
    lambda text: Going.parse(text, "Britain"),
    lambda text: Going.parse(text, "France"),
    lambda text: Going.parse(text, "Australia", Surface.TURF),
]


@pytest.mark.parametrize("parse", PARSERS)
@given(text=TEXT)
def test_any_text_gives_a_value_or_a_plain_refusal(parse: Callable[[str], object], text: str) -> None:
    """Whatever stands in a cell, reading it gives a value or an UnreadableError, and nothing else."""
    with suppress(UnreadableError):
        assert parse(text) is not None


@pytest.mark.parametrize("parse", PARSERS)
@pytest.mark.parametrize("cell", [None, 3.5, b"good"])
def test_what_is_no_text_is_refused_plainly(parse: Callable[[Any], object], cell: object) -> None:
    """None, a number or bytes in place of text gives an UnreadableError that names what it is."""
    with pytest.raises(UnreadableError, match=type(cell).__name__):
        parse(cell)


@pytest.mark.parametrize("parse", PARSERS)
@pytest.mark.parametrize("text", ["9" * 100_000, " " * 100_000 + "1", "1/" * 50_000, "good, " * 20_000])
def test_a_huge_cell_is_refused_unread(parse: Callable[[str], object], text: str) -> None:
    """A cell of a hundred thousand characters is refused at once, with only its beginning in the message."""
    with pytest.raises(UnreadableError, match=r"at most \d+ characters") as refusal:
        parse(text)
    assert len(str(refusal.value)) < 200
