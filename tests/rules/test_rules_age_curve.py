"""The age curve against its published ends (Gramm and Marksteiner 2010, Journal of Equine Science 21:73)."""

from datetime import date

import numpy as np
import pytest

from upsides.rules import lengths_below_peak

ON = date(2020, 1, 1)


@pytest.mark.parametrize(
    ("age", "metres", "lengths"),
    [(2.0, 1200.0, 10.0), (2.0, 1800.0, 15.0), (9.45, 1200.0, 6.0), (9.45, 1800.0, 9.5), (4.45, 1200.0, 0.0)],
)
def test_published_ends(age: float, metres: float, lengths: float) -> None:
    """The curve is 0 at 4.45 years, 10 or 15 lengths at two, and 6 or 9.5 five years after the peak."""
    got, rule = lengths_below_peak([age], metres, ON)
    assert got[0] == pytest.approx(lengths, abs=1e-12)
    assert rule.confidence == "derived"


def test_a_mile_is_a_route() -> None:
    """Sprints end below a mile (the same paper)."""
    got, _ = lengths_below_peak([2.0, 2.0], [1609.344, 1609.0], ON)
    assert got.tolist() == [15.0, 10.0]


def test_the_peak_is_the_least() -> None:
    """Nothing lies below 0, and only the peak itself is 0."""
    got, _ = lengths_below_peak(np.linspace(2, 12, 101), 1200.0, ON)
    assert (got > 0).all()
