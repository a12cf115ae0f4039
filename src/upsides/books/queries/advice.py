"""What vets advised that still holds."""

from dataclasses import dataclass
from datetime import date
from typing import Final

from upsides.books.diary.vet import VetFinding
from upsides.books.diary.work import ALLOWED
from upsides.books.models import Entry
from upsides.books.queries.days import entries_of
from upsides.books.queries.moments import Moment

EVER: Final = date(1970, 1, 1)
"""Advice that nobody ended is looked for from then on: it never ends by itself."""


@dataclass(frozen=True, slots=True)
class Advised:
    """Advice that holds on a day.

    Args:
        finding: what the vet found and advised.
        entry: the entry.
    """

    finding: VetFinding
    entry: Entry

    @property
    def until(self) -> date | None:
        """Return its last day, None where it holds until the vet says otherwise."""
        return date.fromisoformat(self.finding.until) if self.finding.until else None

    def allows(self, exercise: str) -> bool:
        """Return whether an exercise is left open."""
        return exercise in ALLOWED.get(self.finding.advice or "as_usual", frozenset())


def advice(moment: Moment, day: date) -> dict[int, Advised]:
    """Return the advice that holds on a day, by number of the horse: the last that was given, unless it has ended.

    Args:
        moment: when to look from.
        day: the day that is asked about, which may be a later one.
    """
    found: dict[int, Advised] = {}
    for entry in entries_of(moment, ["vet_finding"], EVER, day):
        finding = VetFinding.kept_as(entry.values)
        if finding.advice is None or entry.horse_id is None:
            continue
        one = Advised(finding, entry)
        holds = finding.advice != "as_usual" and (one.until is None or day <= one.until)
        found.pop(entry.horse_id, None)
        if holds:
            found[entry.horse_id] = one
    return found
