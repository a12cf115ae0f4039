"""Weight for age in Japan against the published table.

Source of every value: Japan Racing Association, general notes to the programme (allowance table),
January 2005, as transcribed on a page about Japanese racing. One value a month, January to December.
"""

from datetime import date

import pytest

from upsides.errors import NoRuleError, NotPublishedError, UnreadableError
from upsides.rules import southern_bred_reduction, weight_for_age

JAPAN = {
    ("1000-1600", "open", 3): "8 7 6 5 4 4 3 3 2 2 1 1",
    ("1000-1600", "below open", 3): "7 6 5 4 3 3 3 3 2 2 1 1",
    ("1000-1600", "open", 4): "1 0 0 0 0 0 0 0 0 0 0 0",
    ("1000-1600", "below open", 4): "1 0 0 0 0 0 0 0 0 0 0 0",
    ("1600-2200", "open", 3): "9 8 7 6 5 4 4 3 3 2 2 1",
    ("1600-2200", "below open", 3): "8 7 6 5 4 3 3 3 3 2 2 1",
    ("1600-2200", "open", 4): "1 1 0 0 0 0 0 0 0 0 0 0",
    ("1600-2200", "below open", 4): "1 1 0 0 0 0 0 0 0 0 0 0",
    ("2200+", "open", 3): "10 9 8 7 6 5 4 4 3 3 2 2",
    ("2200+", "below open", 3): "9 8 7 6 5 4 3 3 3 3 2 2",
    ("2200+", "open", 4): "1 1 1 0 0 0 0 0 0 0 0 0",
    ("2200+", "below open", 4): "1 1 1 0 0 0 0 0 0 0 0 0",
}

SOUTHERN = {
    ("1000-1600", 2): "- - - - - - 3 3 3 3 3 3",
    ("1000-1600", 3): "2 2 2 2 2 2 2 2 2 1 1 1",
    ("1000-1600", 4): "1 1 1 1 1 1 0 0 0 0 0 0",
    ("1600-2200", 2): "- - - - - - 3 3 3 3 3 3",
    ("1600-2200", 3): "2 2 2 2 2 2 2 2 2 2 2 2",
    ("1600-2200", 4): "1 1 1 1 1 1 1 0 0 0 0 0",
    ("2200+", 2): "- - - - - - 4 4 4 4 4 4",
    ("2200+", 3): "3 3 3 3 3 3 2 2 2 2 2 2",
    ("2200+", 4): "1 1 1 1 1 1 1 1 0 0 0 0",
}

INSIDE = {"1000-1600": (1000, 1600), "1600-2200": (1601, 2199), "2200+": (2200, 3200)}
"""Two distances of each band, its edges among them: 1600 m belongs to the first band, 2200 m to the last."""


@pytest.mark.parametrize(("band", "race_class", "age"), JAPAN)
def test_every_month_and_edge_of_the_table(band: str, race_class: str, age: int) -> None:
    """Both edges of each band give the published kilograms in every month, for both classes and both ages."""
    for month, printed in enumerate(JAPAN[band, race_class, age].split(), 1):
        for metres in INSIDE[band]:
            for day in (1, 28):
                got = weight_for_age("Japan", date(2005, month, day), metres, age, race_class=race_class)
                assert (got.value, got.unit, got.form) == (float(printed), "kg", "allowance")


@pytest.mark.parametrize(("band", "age"), SOUTHERN)
def test_every_month_of_the_southern_reductions(band: str, age: int) -> None:
    """A dash is refused, and every other month gives the published kilograms, at both edges of each band."""
    for month, printed in enumerate(SOUTHERN[band, age].split(), 1):
        for metres in INSIDE[band]:
            if printed == "-":
                with pytest.raises(NotPublishedError):
                    southern_bred_reduction("Japan", date(2005, month, 9), metres, age)
            else:
                got = southern_bred_reduction("Japan", date(2005, month, 9), metres, age)
                assert got.value == float(printed)


def test_october_over_2400_m_in_open_class() -> None:
    """A three-year-old receives 3 kg in October over 2400 m in open class."""
    assert weight_for_age("Japan", date(2005, 10, 1), 2400, 3).value == 3


def test_july_over_2400_m_below_open_class() -> None:
    """In July over 2400 m the class matters: 4 kg in open class, 3 kg below it."""
    on = date(2005, 7, 1)
    assert weight_for_age("Japan", on, 2400, 3, race_class="below open").value == 3
    assert weight_for_age("Japan", on, 2400, 3).value == 4


def test_a_southern_bred_horse_receives_both() -> None:
    """The reduction for a southern-bred horse comes on top of the age allowance, and the rule says so."""
    got = weight_for_age("JP", date(2005, 10, 1), 2400, 3, bred="south")
    assert got.value == 3 + 2
    assert "southern-bred" in got.rule.note


def test_horses_of_five_and_over_receive_nothing() -> None:
    """Five-year-olds are the horses against which the allowance is measured."""
    assert weight_for_age("Japan", date(2005, 1, 5), 1600, 5).value == 0


def test_two_year_olds_are_refused() -> None:
    """The table has no row for two-year-olds, so nothing is made up for them."""
    with pytest.raises(NotPublishedError, match="age 2"):
        weight_for_age("Japan", date(2005, 10, 1), 1600, 2)


def test_before_the_table_is_refused_with_what_exists() -> None:
    """A date before the table names the jurisdiction, the date and the table that there is."""
    with pytest.raises(NoRuleError, match=r"Japan on 2004-12-31.*from 2005-01-01"):
        weight_for_age("Japan", date(2004, 12, 31), 1600, 3)


def test_an_unknown_class_is_refused() -> None:
    """A class of race that the table does not distinguish is refused, not taken for another."""
    with pytest.raises(UnreadableError, match="open or below open"):
        weight_for_age("Japan", date(2005, 10, 1), 1600, 3, race_class="novice")
