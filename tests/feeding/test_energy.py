"""Energy by mass and work."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from upsides.errors import FeedingRefusedError, RuleFileError
from upsides.feeding import WORKS, defaults, energy_needed
from upsides.rules import override

ON = date(2026, 6, 1)
GIVEN = defaults(ON)

PRINTED = {
    400: (12.12, 13.32, 14.52, 15.98, 18.65, 21.31, 27.59),
    450: (13.63, 14.99, 16.34, 17.98, 20.98, 23.98, 31.04),
    475: (14.39, 15.82, 17.24, 18.98, 22.14, 25.31, 32.76),
    500: (15.15, 16.65, 18.15, 19.98, 23.31, 26.64, 34.48),
    525: (15.91, 17.48, 19.06, 20.98, 24.48, 27.97, 36.21),
    550: (16.66, 18.32, 19.96, 21.98, 25.64, 29.30, 37.93),
    600: (18.18, 19.98, 21.78, 23.98, 27.97, 31.97, 41.38),
}
"""Mcal a day by kg, in the order of WORKS: National Research Council 2007's equations, written out to two decimals.

The multipliers behind the last four are from memory, so those columns hold the arithmetic, not the nutrition.
"""

VERY_HEAVY_MJ = {400: 115.4, 450: 129.9, 475: 137.1, 500: 144.3, 525: 151.5, 550: 158.7, 600: 173.1}
"""The last column again in MJ, to one decimal."""


@pytest.mark.parametrize("mass", PRINTED)
def test_energy_agrees_with_the_table(mass: int) -> None:
    """Every class of work of every row comes out to the printed digits, in Mcal and in MJ."""
    for work, mcal in zip(WORKS, PRINTED[mass], strict=True):
        assert energy_needed(mass, work, GIVEN).mcal == pytest.approx(mcal, abs=0.005 + 1e-9), work
    assert energy_needed(mass, "very heavy", GIVEN).mj == pytest.approx(VERY_HEAVY_MJ[mass], abs=0.05 + 1e-9)


def test_maintenance_is_33_kilocalories_a_kilogram() -> None:
    """A horse without work needs 33.3 kcal for each kg (National Research Council 2007, verified on public pages)."""
    assert energy_needed(1000, "average", GIVEN).mcal == pytest.approx(33.3, abs=1e-12)


def test_a_racehorse_needs_about_34_mcal() -> None:
    """At 500 kg a racehorse's day is 34 Mcal to the nearest whole one, as a public page on racehorses states."""
    assert round(energy_needed(500, "very heavy", GIVEN).mcal) == 34


def test_what_thoroughbred_yards_feed_is_near_what_is_needed() -> None:
    """A racehorse of 493 kg needs what 25 yards fed theirs, within one standard deviation: 129 (29) MJ a day.

    Source: Southwood and others 1993, Australian Veterinary Journal 70:164-168, abstract.
    """
    assert energy_needed(493, "very heavy", GIVEN).mj == pytest.approx(129, abs=29)


@given(st.floats(1, 1400), st.floats(0.01, 100), st.sampled_from(WORKS))
def test_a_heavier_horse_needs_more(mass: float, more: float, work: str) -> None:
    """Energy rises with mass, in proportion to it."""
    less, much = energy_needed(mass, work, GIVEN), energy_needed(mass + more, work, GIVEN)
    assert less < much
    assert much.mj / less.mj == pytest.approx((mass + more) / mass, rel=1e-10)


@given(st.floats(1, 1500))
def test_harder_work_needs_more(mass: float) -> None:
    """Energy rises from class to class, in the order in which they are listed."""
    needs = [energy_needed(mass, work, GIVEN).mj for work in WORKS]
    assert needs == sorted(needs)


@pytest.mark.parametrize("mass", [0, -450, float("nan"), float("inf"), 4500, True, "500"])
def test_a_mass_that_no_horse_has_is_refused(mass: float) -> None:
    """Nothing, less than nothing, no number, or more than any horse weighs is refused in words."""
    with pytest.raises(FeedingRefusedError, match="body mass"):
        energy_needed(mass, "light", GIVEN)


def test_an_unknown_class_of_work_is_refused_with_those_there_are() -> None:
    """A class that there is not is answered with the list."""
    with pytest.raises(FeedingRefusedError, match=r"'gallop'.*very heavy"):
        energy_needed(500, "gallop", GIVEN)


def test_a_figure_from_memory_says_so() -> None:
    """Every multiplier is from memory by its rule, and average maintenance is not."""
    assert all(ruled.rule.confidence == "memory" for ruled in GIVEN.work.values())
    assert all(ruled.rule.source.startswith("From memory") for ruled in GIVEN.work.values())
    assert GIVEN.maintenance["average"].rule.confidence == "medium"


def test_a_yards_own_figure_goes_first_from_its_day() -> None:
    """A multiplier that the yard sets from a day on is used from that day, and says that it is the yard's."""
    fields = {"kind": "work", "of": "heavy", "unit": "times average maintenance", "value": 1.7, "valid_from": ON}
    own = override("feeding", "heavy work here", "anywhere", "the yard's nutritionist, May 2026", **fields)
    assert defaults(ON, own).work["heavy"].value == 1.7
    assert defaults(ON, own).work["heavy"].rule.origin.startswith("yard")
    assert defaults(date(2026, 5, 31), own).work["heavy"].value == GIVEN.work["heavy"].value


@pytest.mark.parametrize("fields", [{"of": "hevy"}, {"kind": "wrok"}, {"value": 0}, {"value": -1}, {"value": "much"}])
def test_a_yards_rule_that_cannot_be_meant_is_refused(fields: dict[str, object]) -> None:
    """A misspelt kind, or a value that is not above zero, is refused instead of being passed over."""
    row = {"kind": "work", "of": "heavy", "unit": "times average maintenance", "value": 1.7} | fields
    with pytest.raises(RuleFileError):
        override("feeding", "mine", "anywhere", "invented", **row)


def test_a_yard_cannot_want_less_forage_than_the_least() -> None:
    """Forage to give below the least, or above what is eaten, is refused."""
    for value in (0.8, 3.0):
        fields = {"kind": "dry matter", "of": "forage wanted", "unit": "%", "value": value}
        with pytest.raises(FeedingRefusedError, match="forage to give"):
            defaults(ON, override("feeding", "mine", "anywhere", "invented", **fields))
