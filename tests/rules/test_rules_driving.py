"""Hours at the wheel, and the owners' part of prize money: which rule answers, and that a yard's own goes first."""

from datetime import date

import pytest

from upsides.errors import NoRuleError
from upsides.rules import driving, owners_part
from upsides.rules.lookup import override

DAY = date(2026, 6, 1)


def test_rules_from_memory_say_so() -> None:
    """What nobody has checked is marked as from memory, and no figure of it is held to anything here."""
    found = driving("GB", DAY)
    assert found.hours is not None
    assert found.rules
    assert {rule.confidence for rule in found.rules} == {"memory"}


def test_a_yards_own_hours_go_first() -> None:
    """A yard's own dated rule answers before the shipped one from its day on; where none is known that is told."""
    mine = override("driving hours", "our licence", "Britain", "our licence, 2026", kind="at the wheel a day", value=8,
                    unit="hours", valid_from=date(2026, 5, 1))  # fmt: skip
    assert driving("Britain", DAY, overrides=mine).hours == 8.0
    assert driving("Britain", date(2026, 4, 30), overrides=mine).hours != 8.0
    with pytest.raises(NoRuleError):
        driving("Hong Kong", DAY)


def test_the_owners_part_is_as_published() -> None:
    """British owners had 80.00 per cent of all prize money (old Orders, Schedule F9, edition of about 2012 to 2014; in
    every complete column of its table, whatever the number of prizes); where no rule is known that is told."""
    part, rule = owners_part("GB", DAY)
    assert part == pytest.approx(0.8)
    assert "Schedule F9" in rule.source
    with pytest.raises(NoRuleError):
        owners_part("JP", DAY)
