"""Lengths per second against the published British scales and worked examples."""

from datetime import date

import numpy as np
import pytest

from upsides.errors import NoRuleError, UnreadableError
from upsides.rules import (
    lengths_from_seconds,
    lengths_per_second,
    lengths_per_second_array,
    override,
    seconds_from_lengths,
)

RELEASE = "British Horseracing Authority, release of 21 February 2008"
BLOG = "personal page of July 2012 restating the table of June 2008"

BRITAIN = [
    (date(2008, 2, 24), "flat", "turf", "heavy", 5, RELEASE),
    (date(2008, 2, 24), "flat", "synthetic", "standard", 5, RELEASE),
    (date(2008, 2, 24), "jumps", "turf", "good", 4, RELEASE),
    (date(2008, 2, 25), "flat", "turf", "good to soft", 6, RELEASE),
    (date(2008, 2, 25), "flat", "turf", "firm", 6, RELEASE),
    (date(2008, 2, 25), "flat", "turf", "soft", 5, RELEASE),
    (date(2008, 6, 14), "flat", "synthetic", "standard", 6, RELEASE),
    (date(2008, 6, 14), "flat", "unwaxed synthetic", "standard", 5, RELEASE),
    (date(2008, 6, 14), "jumps", "turf", "good", 5, RELEASE),
    (date(2008, 6, 14), "jumps", "turf", "good to soft", 4, RELEASE),
    (date(2008, 6, 15), "flat", "turf", "good", 6, BLOG),
    (date(2008, 6, 15), "flat", "turf", "Good to Firm", 6, BLOG),
    (date(2012, 7, 1), "flat", "turf", "good to soft", 5.5, BLOG),
    (date(2012, 7, 1), "flat", "turf", "good, good to soft in places", 5.5, BLOG),
    (date(2012, 7, 1), "flat", "turf", "good to soft, soft in places", 5, BLOG),
    (date(2012, 7, 1), "flat", "turf", "soft", 5, BLOG),
    (date(2012, 7, 1), "flat", "turf", "heavy", 5, BLOG),
    (date(2012, 7, 1), "flat", "synthetic", "standard to slow", 6, BLOG),
    (date(2012, 7, 1), "flat", "unwaxed synthetic", "standard", 5, BLOG),
    (date(2012, 7, 1), "jumps", "turf", "good", 5, BLOG),
    (date(2012, 7, 1), "jumps", "turf", "good to soft", 4.5, BLOG),
    (date(2012, 7, 1), "jumps", "turf", "soft", 4, BLOG),
]


@pytest.mark.parametrize(("on", "code", "surface", "going", "value", "source"), BRITAIN)
def test_british_scale_by_date_code_surface_and_going(
    on: date, code: str, surface: str, going: str, value: float, source: str
) -> None:
    """Each row of the published British scales holds, on the days on which it changes too."""
    got = lengths_per_second("Britain", on, code=code, surface=surface, going=going)
    assert got.value == value, source


def test_a_margin_timed_at_14_25_seconds_on_heavy() -> None:
    """14.25 s over jumps on heavy were declared 57 lengths.

    Source: British racing newspaper, about December 2017.
    """
    per_second = lengths_per_second("Britain", date(2017, 12, 1), code="jumps", going="heavy").value
    assert lengths_from_seconds(14.25, per_second) == 57
    assert seconds_from_lengths(57, per_second) == 14.25


def test_1_18_seconds_are_about_seven_lengths() -> None:
    """1.18 s over 1200 m were described as about seven lengths; six a second give 7.08.

    Source: Sharman and Wilson 2015.
    """
    per_second = lengths_per_second("Britain", date(2012, 7, 1)).value
    assert lengths_from_seconds(1.18, per_second) == pytest.approx(7.08, abs=1e-12)


def test_japan_six_lengths_a_second() -> None:
    """Six lengths make about a second in Japan (Japanese explainers, undated)."""
    assert lengths_per_second("Japan", date(2020, 1, 1), surface="dirt", going="muddy").value == 6


def test_a_going_without_a_known_word_is_refused() -> None:
    """Where the going matters, a word that is none is refused."""
    with pytest.raises(UnreadableError, match="porridge"):
        lengths_per_second("Britain", date(2012, 7, 1), going="porridge")


def test_what_no_rule_speaks_of_is_refused() -> None:
    """Jump racing in Japan has no published figure here."""
    with pytest.raises(NoRuleError, match="Japan"):
        lengths_per_second("Japan", date(2020, 1, 1), code="jumps")


def test_the_array_form_gives_the_same_and_counts_unread_goings() -> None:
    """Many races at once get the published values; an unreadable going is taken as good and counted."""
    days = np.array(["2008-02-24", "2012-07-01", "2012-07-01", "2012-07-01"], "M8[D]")
    goings = ["heavy", "good to soft", "", "soft"]
    got, report = lengths_per_second_array("GB", days, surface="turf", going=goings)
    assert got.tolist() == [5, 5.5, 6, 5]
    assert (report.rows, report.unread) == (4, 1)
    assert {rule.jurisdiction for rule in report.rules} == {"Britain"}
    assert "1 of 4 races" in str(report)


def test_a_yards_own_figure_wins_from_its_first_day() -> None:
    """A dated figure of the yard's own is used from its first day on, and not before."""
    mine = override(
        "lengths per second",
        "invented",
        "Britain",
        "invented for this test",
        valid_from=date(2020, 1, 1),
        code="flat",
        surfaces=["turf"],
        judged_by="main",
        values=[{"down_to": "heavy", "value": 7}],
    )
    days = ["2019-12-31", "2020-01-01"]
    got, _ = lengths_per_second_array("GB", days, surface="turf", going="good", overrides=mine)
    assert got.tolist() == [6, 7]
