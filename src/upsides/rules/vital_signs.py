"""What is published of a grown horse's signs at rest. A prompt to look at the horse's own figures; the vet decides."""

from dataclasses import dataclass
from datetime import date
from typing import Literal

from upsides.rules.jurisdictions import ANYWHERE
from upsides.rules.lookup import NONE, Overrides, in_force
from upsides.rules.rule import Rule

Sign = Literal["temperature", "pulse", "breaths", "capillary refill"]


@dataclass(frozen=True, slots=True)
class RestingRange:
    """A published range at rest.

    Attributes:
        low, high: its ends.
        call_above: from where one source asks that the vet be called; None where none says.
        unit: of all three.
        rule: where they come from.
    """

    low: float
    high: float
    call_above: float | None
    unit: str
    rule: Rule


def resting_range(sign: Sign, on: date, *, overrides: Overrides = NONE) -> RestingRange:
    """Return the range published for a sign at rest.

    Raises:
        NoRuleError: nothing is published for it.
    """
    entry = in_force("vital signs", ANYWHERE, on, overrides, lambda body: body["kind"] == sign)[0]
    body = entry.body
    above = body.get("call_above")
    return RestingRange(
        float(body["low"]), float(body["high"]), None if above is None else float(above), body["unit"], entry.rule
    )
