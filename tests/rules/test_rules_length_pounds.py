"""Pounds per length against the published points."""

from datetime import date

import numpy as np
import pytest

from upsides.errors import NoRuleError, UnreadableError
from upsides.rules import pounds_per_length, pounds_per_length_array

FURLONG_M = 201.168
ON = date(2021, 6, 1)


def test_two_pounds_at_a_mile() -> None:
    """A length is worth 2 lb over a mile on good to firm.

    Source: British Horseracing Authority, Performance figures.
    """
    got = pounds_per_length(1609.344, ON)
    assert (got.value, got.unit, got.rule.confidence) == (2.0, "lb", "high")


@pytest.mark.parametrize(("furlongs", "pounds"), [(5, 3.0), (15, 1.0), (16, 1.0), (20, 1.0)])
def test_the_ends_of_the_sliding_scale(furlongs: float, pounds: float) -> None:
    """3 lb at five furlongs, 1 lb beyond fifteen.

    Source: article of May 2021 on the authority's guide to handicapping.
    """
    assert pounds_per_length(furlongs * FURLONG_M, ON).value == pytest.approx(pounds, abs=1e-12)


def test_one_pound_over_jumps() -> None:
    """1 lb a length over jumps at any distance (the same article of May 2021)."""
    assert pounds_per_length(3200, ON, code="jumps").value == 1.0


def test_between_the_points_the_value_falls_and_is_marked_derived() -> None:
    """Between published points the value only falls with distance, and its rule says derived."""
    metres = np.linspace(900, 4000, 200)
    got, rule = pounds_per_length_array(metres, ON)
    assert (np.diff(got) <= 0).all()
    assert rule.confidence == "derived"
    assert pounds_per_length(1400, ON).rule.confidence == "derived"


def test_the_array_form_equals_single_questions() -> None:
    """The array form gives what single questions give."""
    metres = np.array([1000.0, 1200.0, 1609.344, 2400.0, 4000.0])
    got, _ = pounds_per_length_array(metres, ON)
    assert got.tolist() == [pounds_per_length(float(m), ON).value for m in metres]


def test_the_smooth_rule_is_named_and_marked_as_memory() -> None:
    """15 over the furlongs is there when asked for by name, and says that it is from memory."""
    got = pounds_per_length(1609.344, ON, scale="15 over furlongs")
    assert got.value == pytest.approx(15 / 8, abs=1e-12)
    assert got.rule.confidence == "memory"


def test_australia_one_and_a_half_kilograms() -> None:
    """1.5 kg a length whatever the distance, by the exact factor.

    Source: explainer of Australian winning margins.
    """
    got = pounds_per_length(1200, ON, jurisdiction="Australia")
    assert got.value == pytest.approx(1.5 / 0.45359237, abs=1e-12)


def test_a_jurisdiction_without_points_is_refused() -> None:
    """Japan has no published points here; the smooth rule must be asked for by name."""
    with pytest.raises(NoRuleError, match="Japan"):
        pounds_per_length(1600, ON, jurisdiction="Japan")


@pytest.mark.parametrize("metres", [0.0, -1.0, float("nan")])
def test_a_distance_that_is_none_is_refused(metres: float) -> None:
    """One bad distance in an array is refused, never turned into a missing number."""
    with pytest.raises(UnreadableError, match="distance"):
        pounds_per_length_array([1600.0, metres], ON)
