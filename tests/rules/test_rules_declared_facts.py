"""What must be told before the first run after it, by the rules in force on the day it happened."""

from datetime import date

import pytest

from upsides.errors import NoRuleError, RuleFileError
from upsides.rules import By, override, to_declare

DAY = date(2026, 5, 1)


def test_britain_asks_for_wind_operations_with_the_declaration() -> None:
    """From 19 January 2018 they are told with the declaration, of horses that have run (British Horseracing Authority,
    announcement of 18 January 2018; racing press on the rule: not for horses that have never run)."""
    found = to_declare("wind_operation", "GB", date(2018, 1, 19))
    assert (found.by, found.raced_only, found.rule.jurisdiction) == (By.DECLARATION, True, "Britain")
    assert to_declare("wind_operation", "GB", date(2018, 1, 18)).rule.confidence == "memory"


def test_britain_asks_for_gelding_with_the_entry() -> None:
    """A gelding is notified at the point of entry (racing press on the rule on wind operations, 2018)."""
    assert to_declare("gelded", "GB", DAY).by is By.ENTRY


@pytest.mark.parametrize("what", ["gelded", "wind_operation", "blinkers", "hood", "eye_cover", "tongue_strap"])
def test_elsewhere_it_is_from_memory_and_says_so(what: str) -> None:
    """Where no rule of the place is known, what is said is marked as memory."""
    assert to_declare(what, "XU", DAY).rule.confidence == "memory"


def test_a_yards_own_rule_wins_and_nothing_is_made_up() -> None:
    """A yard's own rule goes before the shipped ones; of a thing that no rule names there is no answer."""
    own = override("declared facts", "Ours", "GB", "Our authority, 2026", what=["gelded"], by="declaration")
    found = to_declare("gelded", "GB", DAY, overrides=own)
    assert (found.by, found.rule.name) == (By.DECLARATION, "Ours")
    with pytest.raises(NoRuleError):
        to_declare("new saddle", "GB", DAY)
    with pytest.raises(RuleFileError):
        override("declared facts", "Ours", "GB", "Our authority, 2026", what=["gelded"], by="letter")
