"""Body mass by tape, its change, and a condition score."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from upsides.errors import FeedingRefusedError
from upsides.feeding import Weighing, change_a_week, condition, taped_kilograms, taped_pounds
from upsides.trade import INCH_M, POUND_KG

DAY = date(2026, 3, 2)


def test_the_tape_in_centimetres() -> None:
    """A girth of 185 cm and a length of 165 cm are 475.35 kg (constant 11880, a reference table's example)."""
    assert taped_kilograms(185, 165) == pytest.approx(475.35, abs=0.005)


def test_the_tape_in_inches() -> None:
    """A girth of 76 inches and a length of 65 are 1137.7 lb (constant 330, worked example of an extension leaflet)."""
    assert taped_pounds(76, 65) == pytest.approx(1137.7, abs=0.05)


@given(st.floats(30, 100), st.floats(30, 100))
def test_the_two_tapes_agree(girth: float, length: float) -> None:
    """Inches and centimetres give one mass to half a per cent: 330 and 11880 were each rounded."""
    kilograms = taped_kilograms(girth * INCH_M * 100, length * INCH_M * 100)
    assert taped_pounds(girth, length) * POUND_KG == pytest.approx(kilograms, rel=0.005)


@pytest.mark.parametrize("girth", [0, -185, float("nan"), 18.5, 1850])
def test_a_measure_that_no_horse_has_is_refused(girth: float) -> None:
    """Nothing, less, no number, decimetres or millimetres are refused by name."""
    with pytest.raises(FeedingRefusedError, match="girth"):
        taped_kilograms(girth, 165)
    with pytest.raises(FeedingRefusedError, match="length"):
        taped_pounds(76, girth)


def test_a_race_costs_about_a_per_cent_and_a_week_is_a_week() -> None:
    """From 500 to 505 kg in a week is 1 % a week; in a fortnight half of it, worked by hand."""
    first = Weighing(DAY, 500)
    assert change_a_week(first, Weighing(DAY + timedelta(days=7), 505)) == pytest.approx(1.0)
    assert change_a_week(first, Weighing(DAY + timedelta(days=14), 505)) == pytest.approx(0.5)
    assert change_a_week(first, Weighing(DAY + timedelta(days=1), 495)) == pytest.approx(-7.0)


def test_weighings_that_cannot_be_compared_are_refused() -> None:
    """The same day, the wrong order, and a tape against a scale are refused."""
    first = Weighing(DAY, 500)
    for second in (
        Weighing(DAY, 505),
        Weighing(DAY - timedelta(days=1), 505),
        Weighing(DAY + timedelta(days=7), 505, "tape"),
    ):
        with pytest.raises(FeedingRefusedError, match="second weighing"):
            change_a_week(first, second)
    for kg in (0, -1, float("nan")):
        with pytest.raises(FeedingRefusedError, match="body mass"):
            Weighing(DAY, kg)


@pytest.mark.parametrize(
    ("score", "says", "off"),
    [(4, "below the wish", -0.5), (4.5, "within the wish", 0), (5.5, "within the wish", 0), (7, "above the wish", 1.5)],
)
def test_a_score_is_held_against_the_yards_wish(score: float, says: str, off: float) -> None:
    """Against a wish of 4.5 to 5.5 a score is below, within (bounds included) or above, and by how many points."""
    found = condition(score, (4.5, 5.5))
    assert (found.says, found.off) == (says, off)


@pytest.mark.parametrize("score", [0.5, 9.5, 5.25, float("nan"), -5])
def test_a_score_that_is_not_on_the_scale_is_refused(score: float) -> None:
    """The scale is 1 to 9 in halves (Henneke and others 1983); a wish is on it too, and the right way round."""
    with pytest.raises(FeedingRefusedError, match="condition"):
        condition(score, (4.5, 5.5))
    with pytest.raises(FeedingRefusedError, match="condition"):
        condition(5, (score, 5.5))
    with pytest.raises(FeedingRefusedError, match="lower comes first"):
        condition(5, (5.5, 4.5))
