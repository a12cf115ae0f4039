"""Weight for age outside Japan against single published values; the source stands beside each."""

from datetime import date

import pytest

from upsides.errors import NoRuleError, NotPublishedError, UnreadableError
from upsides.rules import weight_for_age

FURLONG_M = 201.168
YARD_M = 0.9144

REPORT_2016 = "newspaper report of September 2016 on the European scale, agreeing with the releases of 22 September"
REPORT_LATER = "British racing newspaper on the later revision of the European scale"
EXPLAINER = "guide to British racing, explainer of the scale, undated"

EUROPE = [
    # year of the race, furlongs, month, half, pounds, confidence, source
    (2016, 10, 7, 1, 11, "high", REPORT_2016),
    (2016, 12, 7, 2, 12, "high", REPORT_2016),
    (2016, 14, 8, 2, 12, "high", REPORT_2016),
    (2016, 18, 10, 1, 12, "high", REPORT_2016),
    (
        2017,
        10,
        7,
        1,
        10,
        "high",
        REPORT_2016 + "; race conditions of the early-July Group 1 over 10 furlongs",
    ),
    (2017, 12, 7, 2, 11, "high", REPORT_2016),
    (2017, 14, 8, 2, 10, "high", REPORT_2016),
    (2017, 18, 10, 1, 10, "high", REPORT_2016),
    (2017, 16, 7, 2, 15, "high", REPORT_LATER),
    (2017, 16, 8, 1, 13, "high", REPORT_LATER),
    (2017, 14, 9, 1, 9, "high", REPORT_LATER),
    (2017, 16, 10, 2, 8, "high", REPORT_LATER),
    (2017, 5, 10, 1, 0, "medium", EXPLAINER),
    (2017, 6, 10, 1, 1, "medium", EXPLAINER),
    (2017, 7, 10, 1, 2, "medium", EXPLAINER),
    (2017, 20, 10, 1, 11, "medium", EXPLAINER),
    (2024, 16, 7, 2, 14, "high", REPORT_LATER),
    (2024, 16, 8, 1, 12, "high", REPORT_LATER),
    (2024, 14, 9, 1, 8, "high", REPORT_LATER),
    (2024, 16, 10, 2, 7, "high", REPORT_LATER),
]

# Source: scale of weights in an American racing newspaper, 20 May 1953 p31 (University of Kentucky
# Libraries); these 31 cells agree with the same paper's printings of 1922, 1923, 1924 and 1935.
# Yards, age, month, pounds.
CROSS_CHECKED = [
    (880, 2, 6, 92),
    (880, 2, 7, 93),
    (880, 2, 10, 107),
    (880, 3, 6, 117),
    (880, 3, 7, 119),
    (880, 3, 8, 121),
    (880, 3, 10, 124),
    (880, 4, 6, 126),
    (1320, 2, 6, 95),
    (1320, 2, 7, 98),
    (1320, 2, 8, 102),
    (1320, 2, 10, 108),
    (1320, 3, 6, 120),
    (1320, 3, 7, 122),
    (1320, 3, 8, 123),
    (1320, 3, 10, 126),
    (1320, 4, 6, 130),
    (1320, 4, 10, 130),
    (1320, 5, 6, 132),
    (1760, 2, 10, 97),
    (1760, 3, 6, 114),
    (1760, 3, 8, 118),
    (1760, 3, 10, 120),
    (1760, 4, 6, 126),
    (1760, 5, 6, 127),
    (2200, 3, 6, 112),
    (2200, 3, 8, 117),
    (2200, 3, 10, 120),
    (2640, 3, 6, 107),
    (2640, 3, 7, 110),
    (2640, 3, 10, 119),
]


@pytest.mark.parametrize(("year", "furlongs", "month", "half", "pounds", "confidence", "source"), EUROPE)
def test_europe_published_points(
    year: int, furlongs: int, month: int, half: int, pounds: int, confidence: str, source: str
) -> None:
    """Each published allowance holds on both ends of its half month, from a rule marked as published."""
    for day in (1, 15) if half == 1 else (16, 31):
        got = weight_for_age("Britain", date(year, month, day), furlongs * FURLONG_M, 3)
        assert (got.value, got.unit, got.rule.confidence) == (pounds, "lb", confidence), source


def test_europe_race_weights_of_the_early_july_group_1() -> None:
    """Weights of 9st 9lb and 8st 13lb differ by the allowance at 10 furlongs in early July.

    Source: conditions of the race, 2023, from an encyclopaedia article on it.
    """
    got = weight_for_age("GB", date(2023, 7, 8), 10 * FURLONG_M, 3)
    assert got.value == (9 * 14 + 9) - (8 * 14 + 13)


def test_europe_half_months_end_on_the_fifteenth() -> None:
    """The 15th still takes the published value of early August, and the 16th no longer does."""
    distance = 16 * FURLONG_M
    assert weight_for_age("GB", date(2024, 8, 15), distance, 3).rule.confidence == "high"
    assert weight_for_age("GB", date(2024, 8, 16), distance, 3).rule.confidence == "memory"


def test_europe_the_table_between_the_points_says_that_it_is_from_memory() -> None:
    """A cell that no source prints is marked as memory."""
    assert weight_for_age("Ireland", date(2018, 5, 1), 8 * FURLONG_M, 3).rule.confidence == "memory"


def test_europe_older_horses_receive_nothing() -> None:
    """The allowance is measured against horses of four and over."""
    assert weight_for_age("France", date(2018, 11, 20), 4000, 4).value == 0


def test_europe_outside_the_table_is_refused() -> None:
    """November, which is not in the table, is refused with the jurisdiction, the date and what there is."""
    with pytest.raises(NotPublishedError, match=r"Britain on 2018-11-05.*Jan1 to Oct2"):
        weight_for_age("Britain", date(2018, 11, 5), 2400, 3)


@pytest.mark.parametrize(("yards", "age", "month", "pounds"), CROSS_CHECKED)
def test_north_america_1953_cross_checked_cells(yards: int, age: int, month: int, pounds: int) -> None:
    """The cells on which two years' printings agree give their printed weight to carry."""
    got = weight_for_age("North America", date(1953, month, 10), yards * YARD_M, age)
    assert (got.value, got.unit, got.form, got.rule.confidence) == (pounds, "lb", "weight", "high")


def test_north_america_seven_furlongs_take_the_weight_of_six() -> None:
    """Seven furlongs in June fall between two listed distances and take the shorter one's 120 lb.

    Source: Ohio Administrative Code 3769-5-47 for the rule; the 1953 scale for the weight.
    """
    assert weight_for_age("North America", date(1953, 6, 1), 7 * FURLONG_M, 3).value == 120
    assert weight_for_age("North America", date(1953, 6, 1), 6 * FURLONG_M, 3).value == 120


def test_north_america_two_year_old_over_a_mile_in_october() -> None:
    """A two-year-old carries 97 lb over a mile in October (printings of 1922 and 1953 agree)."""
    assert weight_for_age("North America", date(1953, 10, 5), 1609.344, 2).value == 97


def test_north_america_a_mile_rounded_to_metres_is_still_the_mile() -> None:
    """1609 m is the mile and 1600 m is not (1600 m and the mile keep separate records, US magazine 2014)."""
    assert weight_for_age("North America", date(1953, 10, 5), 1609, 2).value == 97
    assert weight_for_age("North America", date(1953, 10, 5), 1600, 2).value == 108


def test_north_america_horses_older_than_the_last_row_take_it() -> None:
    """A nine-year-old carries the 132 lb of the row for five and over, 6 furlongs in June (1953 and 1935)."""
    assert weight_for_age("North America", date(1953, 6, 5), 1320 * YARD_M, 9).value == 132


@pytest.mark.parametrize(
    ("month", "metres", "age"), [(1, 1609.344, 3), (4, 804.672, 3), (6, 2640 * YARD_M, 4), (6, 600.0, 3)]
)
def test_north_america_what_is_not_printed_is_refused(month: int, metres: float, age: int) -> None:
    """January, the illegible cell, the rows cut off, and distances below half a mile are refused."""
    with pytest.raises(NotPublishedError, match="nothing is published"):
        weight_for_age("North America", date(1953, month, 5), metres, age)


def test_north_america_today_is_marked_as_memory() -> None:
    """The scale of recent decades answers, and says that it is from memory."""
    assert weight_for_age("US", date(2020, 6, 5), 1609.344, 3).rule.confidence == "memory"


def test_north_america_between_the_two_scales_is_refused() -> None:
    """In 1970 neither scale is in force, and the error lists both."""
    with pytest.raises(NoRuleError, match=r"1922-07-02 to 1953-12-31.*from 1990-01-01"):
        weight_for_age("US", date(1970, 6, 5), 1609.344, 3)


@pytest.mark.parametrize(
    ("month", "age", "sex", "kilograms"),
    [
        (2, 2, "colt", 46.0),
        (2, 3, "gelding", 55.5),
        (2, 3, "filly", 53.5),
        (2, 4, "horse", 58.5),
        (2, 7, "gelding", 58.5),
        (7, 2, "colt", 51.0),
    ],
)
def test_australia_published_points(month: int, age: int, sex: str, kilograms: float) -> None:
    """The single published weights over 1000 m hold (Racing Victoria, explainer, 12 February 2014)."""
    got = weight_for_age("Australia", date(2014, month, 12), 1000, age, sex=sex)
    assert (got.value, got.unit, got.form) == (kilograms, "kg", "weight")


def test_australia_two_year_old_colt_in_february() -> None:
    """A two-year-old colt gets 12.5 kg off the base of 58.5.

    Source: Racing Victoria, explainer, 12 February 2014.
    """
    on = date(2014, 2, 12)
    base, colt = (weight_for_age("AU", on, 1000, age) for age in (4, 2))
    assert base.value - colt.value == 12.5


@pytest.mark.parametrize(("age", "kilograms"), [(3, 53.0), (4, 57.0), (5, 57.5), (6, 57.5)])
def test_australia_older_scale(age: int, kilograms: float) -> None:
    """The February row of the older scale over 1200 m holds (Australian racing magazine, reprinted 2013)."""
    assert weight_for_age("Australia", date(1999, 2, 1), 1200, age).value == kilograms


def test_australia_elsewhere_is_refused() -> None:
    """Where no single value is published the answer is a refusal that lists the points, not a guess."""
    with pytest.raises(NotPublishedError, match=r"Australia on 2014-03-05, 1400 m, age 3.*Feb 1000 age 2"):
        weight_for_age("Australia", date(2014, 3, 5), 1400, 3)


def test_hong_kong_has_five_pounds_for_two_year_olds_in_handicaps() -> None:
    """A two-year-old receives 5 lb in a handicap and nothing otherwise.

    Source: Hong Kong Jockey Club, Handicapping Policy.
    """
    on = date(2010, 6, 1)
    in_handicap = weight_for_age("HK", on, 1200, 2, race_class="handicap")
    assert (in_handicap.value, in_handicap.unit) == (5, "lb")
    assert weight_for_age("HK", on, 1200, 2).value == 0
    older = weight_for_age("Hong Kong", on, 1200, 3, race_class="handicap")
    assert older.value == 0
    assert "No weight-for-age scale" in older.rule.note


def test_a_country_without_any_scale_says_so() -> None:
    """A country that no rule mentions is given nothing, and the rule says why."""
    got = weight_for_age("SG", date(2010, 6, 1), 1200, 3)
    assert got.value == 0
    assert "No weight-for-age scale is known for SG" in got.rule.note


def test_a_southern_bred_horse_where_no_reduction_is_known() -> None:
    """Where no reduction for southern-bred horses is known, the rule says so and the value stays."""
    plain = weight_for_age("GB", date(2024, 8, 1), 16 * FURLONG_M, 3)
    got = weight_for_age("GB", date(2024, 8, 1), 16 * FURLONG_M, 3, bred="south")
    assert got.value == plain.value
    assert "southern-bred" in got.rule.note


@pytest.mark.parametrize("metres", [0.0, -5.0, float("nan"), float("inf")])
def test_a_distance_that_is_none_is_refused(metres: float) -> None:
    """A distance must be a number of metres above 0."""
    with pytest.raises(UnreadableError, match="distance"):
        weight_for_age("GB", date(2024, 8, 1), metres, 3)


def test_unknown_words_are_refused() -> None:
    """A misspelt jurisdiction or sex is refused with the words that are known."""
    with pytest.raises(UnreadableError, match="Hong Kong"):
        weight_for_age("Britian", date(2024, 8, 1), 1600, 3)
    with pytest.raises(UnreadableError, match="filly"):
        weight_for_age("GB", date(2024, 8, 1), 1600, 3, sex="rooster")
