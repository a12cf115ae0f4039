"""What must be told to the authority before a horse's first run after it. The authority's current code decides."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Final

from upsides.rules.book_words import listed
from upsides.rules.lookup import NONE, Overrides, in_force
from upsides.rules.rule import Rule

TOPIC: Final = "declared facts"


class By(StrEnum):
    """With what it is told at the latest."""

    ENTRY = "entry"
    DECLARATION = "declaration"


@dataclass(frozen=True, slots=True)
class ToDeclare:
    """What a rule asks for.

    Attributes:
        by: with what of the first run after it.
        raced_only: whether it binds only where the horse has run before.
        rule: who says so.
    """

    by: By
    raced_only: bool
    rule: Rule


def to_declare(what: str, jurisdiction: str, on: date, *, overrides: Overrides = NONE) -> ToDeclare:
    """Return what is asked for, by the nearest rule in force on the day it happened.

    Args:
        what: gelded, wind_operation, blinkers, visor, cheekpieces, hood, eye_shield, eye_cover or tongue_strap.
        jurisdiction: a name or country code.
        on: the day on which it happened.
        overrides: the yard's own rules.

    Raises:
        NoRuleError: no rule speaks of it.
    """
    entry = in_force(TOPIC, jurisdiction, on, overrides, lambda body: what in listed(body["what"]))[0]
    return ToDeclare(By(entry.body["by"]), bool(entry.body.get("raced_only", False)), entry.rule)
