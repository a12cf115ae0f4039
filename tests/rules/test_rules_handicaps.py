"""Handicap weights and rating bands against the published example and policy."""

from datetime import date

import pytest

from upsides.errors import NoRuleError, NotEligibleError, NotPublishedError
from upsides.rules import (
    HandicapWeight,
    claim_added_back,
    handicap_weight,
    override,
    pattern_average,
    rating_bands,
    rise_limit,
)

ON = date(2020, 6, 1)


def stones(stone: int, pounds: int) -> int:
    return 14 * stone + pounds


def example(rating: float) -> HandicapWeight:
    return handicap_weight(rating, band_low=66, band_high=80, top_weight_lb=stones(9, 7))


@pytest.mark.parametrize(
    ("rating", "pounds", "short", "above"),
    [
        (80, stones(9, 7), 0, 0),
        (70, stones(8, 11), 0, 0),
        (66, stones(8, 7), 0, 0),
        (65, stones(8, 7), 1, 0),
        (82, stones(9, 9), 0, 2),
    ],
)
def test_the_published_example(rating: float, pounds: int, short: int, above: int) -> None:
    """Band 66 to 80 under a top weight of 9st 7lb gives the weights of the authority's own example.

    Source: British Horseracing Authority, page on which races a rating allows, undated.
    """
    assert example(rating) == HandicapWeight(pounds, short, above)


def test_three_above_the_band_is_not_taken() -> None:
    """More than two points above the band may not enter (the same page)."""
    with pytest.raises(NotEligibleError, match="3 above the band 66 to 80"):
        example(83)


def test_a_race_may_take_none_above_the_band() -> None:
    """Some races take none above the band.

    Source: racecourse notices: class 5 jump handicaps from 1 October 2023.
    """
    with pytest.raises(NotEligibleError):
        handicap_weight(81, band_low=66, band_high=80, top_weight_lb=133, may_exceed=0)


def test_a_claim_is_added_back() -> None:
    """8st 7lb under a 5 lb claim counts as 8st 12lb (British Horseracing Authority, Performance figures)."""
    assert claim_added_back(stones(8, 7), 5) == stones(8, 12)


def test_the_published_band_of_class_4() -> None:
    """66 to 80 is published and marked high; the other band of class 4 is from memory and says so."""
    bands = {(band.low, band.high): band.rule.confidence for band in rating_bands("GB", ON, "4")}
    assert bands[66, 80] == "high"
    assert set(bands.values()) == {"high", "memory"}


@pytest.mark.parametrize("race_class", ["2", "3", "4", "5", "6"])
def test_british_bands_are_15_wide(race_class: str) -> None:
    """Bands take 15 ratings each (British Horseracing Authority, 15 December 2004)."""
    for band in rating_bands("Britain", ON, race_class):
        assert band.low is not None
        assert band.high - band.low == 14


@pytest.mark.parametrize(("race_class", "limit"), [("2", 100), ("3", 80), ("4", 60), ("5", 40)])
def test_hong_kong_upper_limits(race_class: str, limit: int) -> None:
    """Classes 2 to 5 end at 100, 80, 60 and 40 (Hong Kong Jockey Club, Handicapping Policy)."""
    (band,) = rating_bands("HK", ON, race_class)
    assert (band.low, band.high) == (None, limit)


@pytest.mark.parametrize(("position", "points"), [(2, 5), (5, 5), (6, 0), (12, 0)])
def test_hong_kong_limits_to_a_rise(position: int, points: int) -> None:
    """Second to fifth may rise by at most 5, sixth or worse not at all.

    Source: Hong Kong Jockey Club, Handicapping Policy.
    """
    assert rise_limit("HK", ON, position).value == points


def test_a_winner_has_no_limit() -> None:
    """The policy sets no limit for a winner, so none is given."""
    with pytest.raises(NotPublishedError, match="position 1"):
        rise_limit("HK", ON, 1)


@pytest.mark.parametrize(("race_class", "average"), [("Group 1", 115), ("Group 2", 110), ("Group 3", 105)])
def test_pattern_averages(race_class: str, average: int) -> None:
    """Group races need 115, 110 and 105 (secondary pages on the European pattern, undated)."""
    assert pattern_average("France", ON, race_class).value == average


def test_bands_of_a_yards_own_replace_the_shipped_ones() -> None:
    """A yard's own bands stand alone and say where they come from."""
    mine = override("rating bands", "invented", "Britain", "invented for this test", race_class="4", bands=[[60, 74]])
    (band,) = rating_bands("GB", ON, "4", overrides=mine)
    assert (band.low, band.high) == (60, 74)
    assert band.rule.origin == "yard (given in code)"


def test_an_unknown_class_is_refused() -> None:
    """A class without a known band is refused with what there is."""
    with pytest.raises(NoRuleError, match="class 4"):
        rating_bands("GB", ON, "9")
