"""A rule: where it holds, from when to when, who says so, and how well that is verified."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, Final, Literal

CONFIDENCES: Final = ("high", "medium", "low", "memory", "derived")
"""How well the source was verified; memory is unverified, derived is worked out from other figures."""

SHIPPED: Final = "shipped"


@dataclass(frozen=True, slots=True)
class Rule:
    """Where a number comes from.

    Attributes:
        topic: what it is about, e.g. "weight for age".
        name: its own name.
        jurisdiction: where it holds.
        valid_from: first day, or None when that is not known.
        valid_to: last day, or None when no end is known.
        source: author or organisation and date, written out.
        confidence: one of `CONFIDENCES`.
        note: what to know besides.
        origin: "shipped" with this package, or "yard" and where the yard wrote it.
    """

    topic: str
    name: str
    jurisdiction: str
    valid_from: date | None
    valid_to: date | None
    source: str
    confidence: str
    note: str = ""
    origin: str = SHIPPED

    def in_force(self, on: date) -> bool:
        """Return whether the rule holds on that day."""
        return (self.valid_from is None or self.valid_from <= on) and (self.valid_to is None or on <= self.valid_to)

    @property
    def validity(self) -> str:
        """The days between which it holds, in words."""
        match self.valid_from, self.valid_to:
            case None, None:
                return "no dates known"
            case start, None:
                return f"from {start}"
            case None, end:
                return f"until {end}"
            case start, end:
                return f"{start} to {end}"

    def __str__(self) -> str:
        return f"{self.name} ({self.jurisdiction}, {self.validity})"


@dataclass(frozen=True, slots=True, eq=False)
class Entry:
    """A rule with its figures as they stand in the file; equal only to itself, so that it can key a cache."""

    rule: Rule
    body: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Ruled:
    """A number, its unit and the rule that gives it."""

    value: float
    unit: str
    rule: Rule


@dataclass(frozen=True, slots=True)
class Allowance:
    """A weight set by a rule.

    Attributes:
        value: the weight.
        unit: "lb" or "kg".
        rule: the rule that gives it.
        form: "allowance" when it is taken off what a mature horse carries; "weight" when it is what to carry.
    """

    value: float
    unit: str
    rule: Rule
    form: Literal["allowance", "weight"] = "allowance"
