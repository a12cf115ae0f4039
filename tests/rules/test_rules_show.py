"""The list of rules in force."""

from datetime import date

import pytest

from upsides.rules import jurisdictions, override, rules_in_force


@pytest.mark.parametrize("jurisdiction", [*jurisdictions(), "SG"])
def test_every_jurisdiction_can_be_listed(jurisdiction: str) -> None:
    """Every row of every jurisdiction has a name, a value, a source and a confidence."""
    rows = rules_in_force(jurisdiction, date(2015, 6, 1))
    assert rows
    for row in rows:
        assert all((row.topic, row.name, row.value, row.source, row.confidence, row.validity, row.origin))


def test_only_what_is_in_force_is_listed() -> None:
    """The minimum weight in Britain changed on 26 March 2022.

    Source: British Horseracing Authority, January 2022.
    """
    for on, value in [(date(2022, 3, 25), "112 lb"), (date(2022, 3, 26), "114 lb")]:
        listed = [row.value for row in rules_in_force("GB", on) if "minimum riding weight" in row.name]
        assert listed == [value]


def test_a_nearer_rule_hides_one_that_holds_anywhere() -> None:
    """Australia's birthday hides that of everywhere else; only one is listed."""
    listed = [row.value for row in rules_in_force("AU", date(2015, 6, 1)) if row.topic == "official birthday"]
    assert listed == ["1 August"]


def test_a_yards_own_rule_comes_first_and_hides_the_shipped_one() -> None:
    """A yard's own figure is listed as the yard's, in the place of the shipped one."""
    mine = override("weights", "own minimum", "Britain", "invented", kind="minimum riding weight", unit="lb", value=118)
    rows = rules_in_force("GB", date(2015, 6, 1), overrides=mine)
    listed = [(row.value, row.origin) for row in rows if "minimum" in row.name]
    assert listed == [("118 lb", "yard (given in code)")]
