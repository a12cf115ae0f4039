"""Prices and limits of the young, from the shipped file and a yard's own."""

from pathlib import Path

import pytest

from upsides.errors import MorningRefusedError
from upsides.planning.prices import PARTS, SHIPPED, Parts, read_settings


def test_the_shipped_file_prices_every_wish() -> None:
    """Each wish has a price above nothing, and each row says what it is the price of."""
    prices, young = read_settings()
    assert all(getattr(prices, part) > 0 for part in PARTS)
    assert SHIPPED.read_text(encoding="utf-8").count("\nof = ") == len(PARTS)
    assert young.lots > 0


def test_a_cost_is_amount_times_price() -> None:
    """Three horses at ten minutes and two saddles at four are 38 minutes."""
    assert Parts(usual=3, saddle=2).times(Parts(usual=10, saddle=4, walker=60)).total == 38


@pytest.mark.parametrize(
    ("before", "after", "at_fault"),
    [
        ("[price.usual]", "[price.unusual]", "price"),
        ("minutes = 10", "minutes = -10", "price of usual"),
        ("minutes = 10", 'minutes = "ten"', "price of usual"),
        ("minutes = 10", "minutes = inf", "price of usual"),
        ("lots = 3", "lots = 2.5", "young riders, most lots"),
        ("[young]", "[old]", "prices of lots"),
        ("minutes = 10", "minutes is 10", "prices of lots"),
    ],
)
def test_a_file_that_cannot_be_is_refused(tmp_path: Path, before: str, after: str, at_fault: str) -> None:
    """A price that is none, a wish that is unknown or a missing table is named."""
    own = tmp_path / "lots.toml"
    own.write_text(SHIPPED.read_text(encoding="utf-8").replace(before, after, 1), encoding="utf-8")
    with pytest.raises(MorningRefusedError) as refused:
        read_settings(own)
    assert refused.value.field == at_fault


def test_a_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    """A missing file is named."""
    with pytest.raises(MorningRefusedError, match=r"none\.toml"):
        read_settings(tmp_path / "none.toml")
