"""What part of prize money is the owners'."""

from datetime import date

from upsides.rules.lookup import NONE, Overrides, in_force
from upsides.rules.rule import Rule


def owners_part(jurisdiction: str, on: date, *, overrides: Overrides = NONE) -> tuple[float, Rule]:
    """Return the part of prize money that the owners have, 0 to 1, and the rule that says so.

    Args:
        jurisdiction: a name or country code.
        on: day of the race.
        overrides: the yard's own rules.

    Raises:
        NoRuleError: nothing is in force.
    """
    entry = in_force("prize shares", jurisdiction, on, overrides)[0]
    return float(entry.body["value"]) / 100.0, entry.rule
