"""Sex allowances, claims and single weights against each published row; the source stands beside it."""

from datetime import date

import pytest

from upsides.errors import NoRuleError, NotPublishedError
from upsides.rules import apprentice_claim, sex_allowance, weight_figure

OHIO = "Ohio Administrative Code 3769-5-47, -50, -51; Indiana 71 IAC 7.5-3-4; Connecticut Regulations 12-574-A48"
BHA_2022 = "British Horseracing Authority, release on riding weights, January 2022"
POLICY = "Hong Kong Jockey Club, Handicapping Policy"


@pytest.mark.parametrize(
    ("jurisdiction", "on", "age", "value", "unit", "source"),
    [
        ("Britain", date(2024, 7, 6), 3, 3, "lb", "conditions of the early-July Group 1, 2023 to 2025"),
        ("France", date(2024, 7, 6), 5, 3, "lb", "the same, as a European rule"),
        ("Australia", date(2014, 2, 12), 4, 2, "kg", "Racing Victoria, explainer, 12 February 2014"),
        ("Japan", date(2005, 5, 1), 3, 2, "kg", "Japan Racing Association, January 2005, unofficial copy"),
        ("Ohio", date(2015, 5, 1), 2, 3, "lb", OHIO),
        ("Indiana", date(2015, 8, 31), 3, 5, "lb", OHIO),
        ("Connecticut", date(2015, 9, 1), 3, 3, "lb", OHIO),
        ("Ohio", date(2015, 8, 31), 6, 5, "lb", OHIO),
        ("Ohio", date(2015, 12, 31), 6, 3, "lb", OHIO),
    ],
)
def test_sex_allowances(jurisdiction: str, on: date, age: int, value: float, unit: str, source: str) -> None:
    """Fillies and mares receive what each authority publishes, and males nothing."""
    got = sex_allowance(jurisdiction, on, age, "filly")
    assert (got.value, got.unit) == (value, unit), source
    assert sex_allowance(jurisdiction, on, age, "colt").value == 0


def test_sex_allowance_for_a_yearling_is_refused() -> None:
    """No rule speaks of an age below two."""
    with pytest.raises(NotPublishedError, match="age 1"):
        sex_allowance("Ohio", date(2015, 5, 1), 1)


def test_sex_allowance_before_any_rule_is_refused() -> None:
    """The modern American rules are single states'; for the continent only the scale of 1953 has one."""
    with pytest.raises(NoRuleError, match="United States on 2015-05-01"):
        sex_allowance("US", date(2015, 5, 1), 3)


@pytest.mark.parametrize(("wins", "pounds"), [(0, 7), (19, 7), (20, 5), (49, 5), (50, 3), (94, 3), (95, 0), (300, 0)])
def test_british_claims(wins: int, pounds: int) -> None:
    """7 lb to 20 wins, 5 to 50, 3 to 95.

    Source: British Horseracing Authority, Rule (F)140 and answer of 30 June 2014.
    """
    assert apprentice_claim("Britain", date(2014, 7, 1), wins).value == pounds


@pytest.mark.parametrize(("wins", "pounds"), [(0, 10), (4, 10), (5, 7), (39, 7)])
def test_californian_claims(wins: int, pounds: int) -> None:
    """10 lb until five wins, then 7 lb for the next 35.

    Source: California Horse Racing Board, rule 1619, text of 1997.
    """
    assert apprentice_claim("California", date(2000, 7, 1), wins).value == pounds


def test_californian_claim_ends_a_year_after_the_fifth_win() -> None:
    """After 40 wins 5 lb are claimed to the end of one year from the fifth win (the same rule)."""
    fifth = date(2000, 2, 29)
    assert apprentice_claim("California", date(2001, 2, 28), 41, counted_win_on=fifth).value == 5
    assert apprentice_claim("California", date(2001, 3, 1), 41, counted_win_on=fifth).value == 0
    with pytest.raises(NotPublishedError, match="counted_win_on"):
        apprentice_claim("California", date(2001, 2, 28), 41)


@pytest.mark.parametrize(
    ("jurisdiction", "on", "kind", "value", "unit", "source"),
    [
        ("Britain", date(2022, 3, 25), "minimum riding weight", 8 * 14, "lb", BHA_2022),
        ("Britain", date(2022, 3, 26), "minimum riding weight", 8 * 14 + 2, "lb", BHA_2022),
        ("Britain", date(2022, 3, 25), "standard top weight", 10 * 14, "lb", BHA_2022),
        ("Britain", date(2022, 3, 26), "standard top weight", 10 * 14 + 2, "lb", BHA_2022),
        ("Hong Kong", date(2010, 1, 1), "handicap top weight", 135, "lb", POLICY),
        ("Hong Kong", date(2010, 1, 1), "handicap minimum weight", 115, "lb", POLICY),
        ("Ohio", date(2015, 1, 1), "single-age minimum weight", 112, "lb", OHIO),
        ("Connecticut", date(2015, 1, 1), "single-age weight, three or four", 126, "lb", OHIO),
        ("Connecticut", date(2015, 1, 1), "single-age weight, two", 122, "lb", OHIO),
        ("Indiana", date(2013, 6, 1), "minimum assigned weight", 118, "lb", OHIO),
        ("Indiana", date(2013, 6, 1), "minimum assigned weight, three against older", 116, "lb", OHIO),
        ("Indiana", date(2013, 6, 1), "equipment not in the published weight", 3, "lb", OHIO),
        ("US", date(1953, 5, 20), "least top weight of a stakes handicap", 126, "lb", "scale of 1953"),
        (
            "Britain",
            date(2020, 1, 1),
            "weight of a rating point",
            1,
            "lb",
            "page on which races a rating allows",
        ),
    ],
)
def test_single_weights(jurisdiction: str, on: date, kind: str, value: float, unit: str, source: str) -> None:
    """Each well verified figure holds on its days and is marked high."""
    got = weight_figure(jurisdiction, on, kind)
    assert (got.value, got.unit, got.rule.confidence) == (value, unit, "high"), source


def test_a_pound_counts_as_half_a_kilogram() -> None:
    """1 lb counts as 0.5 kg and 3 lb as 1.5 kg, not 0.4536 each.

    Source: European Pattern Committee, 22 September 2016.
    """
    kilograms = weight_figure("France", date(2017, 1, 1), "kilograms for one pound").value
    assert 1 * kilograms == 0.5
    assert 3 * kilograms == 1.5


def test_an_unknown_kind_is_refused() -> None:
    """A figure that nobody publishes is refused with those that there are."""
    with pytest.raises(NoRuleError, match="minimum riding weight"):
        weight_figure("Britain", date(2020, 1, 1), "weight of the hat")
