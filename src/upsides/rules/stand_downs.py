"""The first day on which a horse may run, work or arrive after a treatment, by every rule that binds.

A stand-down is a legal minimum. It is neither a withdrawal time nor a detection time, and says nothing of what a sample
would show.
"""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from typing import Final

from upsides.errors import UnreadableError
from upsides.errors.wording import gettext as _
from upsides.rules.book_words import listed
from upsides.rules.counting import Counting, first_day
from upsides.rules.files import shipped
from upsides.rules.lookup import NONE, Overrides, candidates, unhidden
from upsides.rules.rule import Entry, Rule

TOPIC: Final = "stand-down"
ANY: Final = "any treatment"
WIDER: Final = {
    "intra-articular corticosteroid": "intra-articular injection",
    "intra-articular polyacrylamide hydrogel": "intra-articular injection",
}
"""Treatments that fall under the rules of a wider one too."""
NO_TREATMENT: Final = frozenset(
    {"vaccine", "covering", "foaling", "self-certified non-runner", "non-runner with a vet's certificate"}
)
"""What has a stand-down without being a treatment, so that rules on any treatment do not bind."""


@dataclass(frozen=True, slots=True)
class StandDown:
    """What one rule says after one treatment.

    Attributes:
        rule: the rule.
        treatment: what was asked about.
        applies_to: what the horse may not do until then, e.g. race, timed work, arrival.
        counted_from: day of the last treatment.
        count, unit, counting: N, in what, and how it is counted.
        says: the rule in our words.
        first_day: first day on which it may; None where the rule has no count. For hours counted from a known moment,
            the day on which they end.
        first_moment: for hours counted from a known moment, when they end, in UTC.
        advice: whether it is advice and no rule.
    """

    rule: Rule
    treatment: str
    applies_to: tuple[str, ...]
    counted_from: date
    count: int
    unit: str
    counting: Counting
    says: str
    first_day: date | None
    first_moment: datetime | None
    advice: bool

    def __str__(self) -> str:
        text = f"{self.rule.name}: {self.says}. Counted from {self.counted_from}"
        if self.first_moment:
            return f"{text}; the first moment is {self.first_moment:%Y-%m-%d %H:%M} UTC"
        if self.first_day:
            text = f"{text}; the first day is {self.first_day}"
        if self.counting is Counting.OPEN:
            text = f"{text}, the later of two ways to read it"
        return text


@lru_cache(maxsize=64)
def treatments(overrides: Overrides = NONE) -> tuple[str, ...]:
    """Return the treatments, and other events, that some rule has a stand-down for."""
    entries = [entry for entry in (*overrides.entries, *shipped()) if entry.rule.topic == TOPIC]
    return tuple(sorted({name for entry in entries for name in listed(entry.body["treatment"])} - {ANY}))


def stand_downs(
    treatment: str,
    days: Collection[date],
    jurisdiction: str,
    *,
    of: str = "",
    at: datetime | None = None,
    overrides: Overrides = NONE,
) -> tuple[StandDown, ...]:
    """Return what every rule that binds says after a treatment, the longest first, those without a count last.

    The rules in force on the last day of treatment are asked. An empty answer means that no rule is known here; it does
    not mean that there is none.

    Args:
        treatment: one of `treatments()`, or `ANY` for one that no rule names.
        days: the days on which it was given; the count begins with the last.
        jurisdiction: a name or country code.
        of: the joint or disease; rules confined to another one do not bind. Without it all do.
        at: the moment of the last treatment, with its zone, for rules that count hours.
        overrides: the yard's own rules; one on the same treatment hides the shipped one.

    Raises:
        UnreadableError: the treatment is not known, no day is given, or the moment has no zone.
    """
    known = (*treatments(overrides), ANY)
    if treatment not in known:
        raise UnreadableError(_("treatment with a stand-down"), treatment, ", ".join(known))
    if not days:
        raise UnreadableError(_("days of treatment"), "none", _("at least one day, like 2024-07-08"))
    if at is not None and at.tzinfo is None:
        raise UnreadableError(_("moment of treatment"), at, _("a moment with its zone, like 2024-07-08 10:30+01:00"))
    last = max(days)
    found = [entry for entry in _binding(treatment, of, jurisdiction, overrides) if entry.rule.in_force(last)]
    answers = [_answer(entry, treatment, last, at) for entry in unhidden(found, ("treatment", "of", "applies_to"))]
    return tuple(sorted(answers, key=lambda answer: answer.first_day or date.min, reverse=True))


def first_day_for(what: str, found: Iterable[StandDown]) -> StandDown | None:
    """Return the answer that keeps a horse longest from `what` (race, timed work ...), or None where none does."""
    counted = [answer for answer in found if what in answer.applies_to and answer.first_day]
    return max(counted, key=lambda answer: answer.first_day or date.min, default=None)


def _binding(treatment: str, of: str, jurisdiction: str, overrides: Overrides) -> list[Entry]:
    names = {treatment, WIDER.get(treatment, treatment)} | (set() if treatment in NO_TREATMENT else {ANY})
    return [
        entry
        for entry in candidates(TOPIC, jurisdiction, overrides)
        if names & set(listed(entry.body["treatment"])) and (not of or entry.body.get("of", of) == of)
    ]


def _answer(entry: Entry, treatment: str, last: date, at: datetime | None) -> StandDown:
    body, counting = entry.body, Counting(entry.body["counting"])
    moment, first = None, first_day(last, body["count"], body["unit"], counting)
    if counting is Counting.HOURS and at is not None:
        moment = at.astimezone(UTC) + timedelta(hours=body["count"])
        first = moment.astimezone(at.tzinfo).date()
    return StandDown(
        entry.rule,
        treatment,
        listed(body["applies_to"]),
        last,
        body["count"],
        body["unit"],
        counting,
        body["says"],
        first,
        moment,
        body.get("advice", False),
    )
