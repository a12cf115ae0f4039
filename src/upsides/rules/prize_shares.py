"""What part of prize money is the owners'."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from upsides.rules.lookup import NONE, Overrides, in_force
from upsides.rules.rule import Rule

TOPIC: Final = "prize shares"


@dataclass(frozen=True, slots=True)
class Split:
    """Who has what of a place's prize, each a part of it, 0 to 1.

    Attributes:
        owner, trainer, rider, staff: theirs; of a rule that states the owners' part alone the others are None.
        rule: that says so.
    """

    owner: float
    trainer: float | None
    rider: float | None
    staff: float | None
    rule: Rule


def prize_split(
    jurisdiction: str, on: date, place: int, *, pattern: bool = False, overrides: Overrides = NONE
) -> Split:
    """Return who has what of the prize of a place.

    Args:
        jurisdiction: a name or country code.
        on: day of the race.
        place: 1 for the winner's.
        pattern: whether it is a group or a listed race.
        overrides: the yard's own rules.

    Raises:
        NoRuleError: nothing is in force.
    """
    entry = in_force(TOPIC, jurisdiction, on, overrides)[0]
    wanted = ("pattern" if pattern else "other", "first" if place == 1 else "later")
    row: Mapping[str, Any] | None = next(
        (one for one in entry.body.get("split", ()) if (one["of"], one["place"]) == wanted), None
    )
    if row is None:
        return Split(float(entry.body["value"]) / 100.0, None, None, None, entry.rule)
    owner, trainer, rider, staff = (float(row[name]) / 100.0 for name in ("owner", "trainer", "rider", "staff"))
    return Split(owner, trainer, rider, staff, entry.rule)


def owners_part(jurisdiction: str, on: date, *, overrides: Overrides = NONE) -> tuple[float, Rule]:
    """Return the part of prize money that the owners have, 0 to 1, and the rule that says so.

    Args:
        jurisdiction: a name or country code.
        on: day of the race.
        overrides: the yard's own rules.

    Raises:
        NoRuleError: nothing is in force.
    """
    entry = in_force(TOPIC, jurisdiction, on, overrides)[0]
    return float(entry.body["value"]) / 100.0, entry.rule
