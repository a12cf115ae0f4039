"""What a horse carries, as a sum of lines, each with the rule or wording that gives it."""

from dataclasses import dataclass
from typing import Final

from upsides.placing.amounts import Unit
from upsides.rules import Rule

GRADES: Final = ("high", "medium", "low", "derived", "memory")
"""How well a weight is verified, best first; a race's own conditions count as the best."""


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a weight.

    Attributes:
        key: what it is; a word that pages translate by.
        value: in the race's unit; what is taken off is below nought.
        rule: the authority's rule that gives it; None where the race's own conditions do.
        wording: the words that it was read from.
    """

    key: str
    value: float
    rule: Rule | None = None
    wording: str = ""


@dataclass(frozen=True, slots=True)
class Carried:
    """What a horse carries in a race.

    Attributes:
        unit: "lb" or "kg", as the race states its weights.
        lines: what adds up to `long`, the base first.
        floor: the weight below which none is set; None where there is none.
        unsure: lines that may come on top, or may not count: what they ask for is not known, or words beside them were
            not read.
        missing: what could not be found out, in words; with any of it the weight is not settled.
        claim: what the rider claims, above nought.
        equipment: what the published weight leaves out and the horse still carries; nought where nothing is known.
        equipment_rule: who says so.
    """

    unit: Unit
    lines: tuple[Line, ...]
    floor: float | None = None
    unsure: tuple[Line, ...] = ()
    missing: tuple[str, ...] = ()
    claim: Line | None = None
    equipment: float = 0.0
    equipment_rule: Rule | None = None

    @property
    def long(self) -> float:
        """The sum of the lines: in a handicap the weight of the long handicap."""
        return sum(line.value for line in self.lines)

    @property
    def published(self) -> float:
        """The weight on the card, before the rider's claim."""
        return self.long if self.floor is None else max(self.long, self.floor)

    @property
    def out_of_handicap(self) -> float:
        """By how much it carries more than its lines add up to."""
        return self.published - self.long

    @property
    def on_the_horse(self) -> float:
        """What is on its back: published, less the rider's claim, with the equipment that is not published."""
        return self.published + (self.claim.value if self.claim else 0.0) + self.equipment

    @property
    def settled(self) -> bool:
        """Whether nothing is missing and nothing is unsure."""
        return not self.missing and not self.unsure

    @property
    def grade(self) -> str:
        """How well the least verified of its lines is verified."""
        rules = [line.rule for line in (*self.lines, *([self.claim] if self.claim else [])) if line.rule]
        return max((rule.confidence for rule in rules), key=GRADES.index, default="high")
