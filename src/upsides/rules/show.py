"""Every rule in force in a jurisdiction on a day, as rows to print."""

from dataclasses import dataclass
from datetime import date
from typing import Final

from upsides.rules.describe import describe
from upsides.rules.describe_books import PUBLISHED
from upsides.rules.files import NEEDED
from upsides.rules.lookup import NONE, Overrides, candidates, unhidden
from upsides.rules.rule import Entry


@dataclass(frozen=True, slots=True)
class RuleRow:
    """One rule in words.

    Attributes:
        topic: what it is about.
        name: its name.
        value: what it says, short.
        source: who says so and when.
        confidence: one of `rule.CONFIDENCES`.
        jurisdiction: where it holds.
        validity: from when to when.
        origin: shipped, or the yard's own.
        note: what to know besides.
    """

    topic: str
    name: str
    value: str
    source: str
    confidence: str
    jurisdiction: str
    validity: str
    origin: str
    note: str


LAYERED: Final = ("weight for age", "southern-bred reduction", *PUBLISHED)
"""Topics in which several rules answer together; elsewhere the first hides those behind it."""

SAME: Final = (
    "code", "surfaces", "scale", "list", "kind", "of", "race_class", "disease", "treatment", "applies_to", "event"
)  # fmt: skip
"""Fields that tell rules of one topic apart."""


def rules_in_force(jurisdiction: str, on: date, *, overrides: Overrides = NONE) -> list[RuleRow]:
    """Return every rule that answers for a jurisdiction on a day, by topic, first to be asked first.

    Rules of the wider body, and those that hold anywhere, are included where no nearer rule hides them.

    Raises:
        UnreadableError: the jurisdiction is not known.
    """
    rows: list[RuleRow] = []
    for topic in NEEDED:
        holding = [e for e in candidates(topic, jurisdiction, overrides) if e.rule.in_force(on)]
        rows += [_row(entry) for entry in (holding if topic in LAYERED else unhidden(holding, SAME))]
    return rows


def _row(entry: Entry) -> RuleRow:
    rule = entry.rule
    return RuleRow(
        rule.topic,
        rule.name,
        describe(entry),
        rule.source,
        rule.confidence,
        rule.jurisdiction,
        rule.validity,
        rule.origin,
        rule.note,
    )
