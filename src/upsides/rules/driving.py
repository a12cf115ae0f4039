"""How long somebody may be at the wheel, and after how long a break is due."""

from dataclasses import dataclass
from datetime import date
from typing import Final

from upsides.rules.lookup import NONE, Overrides, in_force
from upsides.rules.rule import Rule

TOPIC: Final = "driving hours"
A_DAY: Final = "at the wheel a day"
BREAK: Final = "break"


@dataclass(frozen=True, slots=True)
class Driving:
    """What holds for drivers.

    Attributes:
        hours: at the wheel a day, at most; None where no rule says.
        break_minutes, after_hours: a break, and after how long at the wheel; None where no rule says.
        rules: those that say so.
    """

    hours: float | None
    break_minutes: float | None
    after_hours: float | None
    rules: tuple[Rule, ...]


def driving(jurisdiction: str, on: date, *, overrides: Overrides = NONE) -> Driving:
    """Return what holds for drivers in a place on a day.

    Raises:
        NoRuleError: nothing is in force.
    """
    entries = in_force(TOPIC, jurisdiction, on, overrides)
    first = {kind: next((one for one in entries if one.body["kind"] == kind), None) for kind in (A_DAY, BREAK)}
    day, rest = first[A_DAY], first[BREAK]
    return Driving(
        float(day.body["value"]) if day else None,
        float(rest.body["value"]) if rest else None,
        float(rest.body["after_hours"]) if rest else None,
        tuple(one.rule for one in (day, rest) if one),
    )
