"""The rules on vaccination against one disease in one jurisdiction, and the intervals that they allow."""

from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from typing import Final

from upsides.rules.book_words import Step
from upsides.rules.counting import later
from upsides.rules.lookup import NONE, Overrides, candidates
from upsides.rules.rule import Entry

TOPIC: Final = "vaccination"
INFLUENZA: Final = "equine influenza"
HERPESVIRUS: Final = "equine herpesvirus"


@dataclass(frozen=True, slots=True)
class VaccineRules:
    """The rules on one disease in one jurisdiction.

    Attributes:
        jurisdiction: a name or country code.
        disease: what the doses are against.
        overrides: the yard's own rules.
    """

    jurisdiction: str
    disease: str = INFLUENZA
    overrides: Overrides = NONE

    def of_kind(self, kind: str) -> tuple[Entry, ...]:
        """Return the rules of a kind, of any date, first to be asked first."""
        return _rules(self, kind)

    def rule(self, kind: str, on: date) -> Entry | None:
        """Return the rule of a kind in force on a day, or None."""
        return next((entry for entry in self.of_kind(kind) if entry.rule.in_force(on)), None)

    def interval(self, step: Step, begun: date, given: date) -> "Interval | None":
        """Return the interval allowed before a second, third or later dose; None where no rule is known.

        Args:
            step: which dose it is before.
            begun: day of the course's first dose, which decides for the second and third.
            given: day of the dose itself, which decides for a booster.
        """
        entry = self.rule("booster", given) if step is Step.BOOSTER else self.rule("course", begun)
        if entry is None:
            return None
        body = entry.body
        if step is Step.BOOSTER:
            return Interval(0, body["longest"], body["unit"], body.get("grace_days", 0), entry)
        low, high = body["second" if step is Step.SECOND else "third"]
        unit = body["unit"] if step is Step.SECOND else body.get("third_unit", body["unit"])
        return Interval(low, high, unit, 0, entry)


@dataclass(frozen=True, slots=True)
class Interval:
    """How long after a dose the next one may be given.

    Attributes:
        low, high: at least and at most so many.
        unit: days or calendar months.
        grace_days: days on top of the longest.
        entry: the rule.
    """

    low: int
    high: int
    unit: str
    grace_days: int
    entry: Entry

    def after(self, dose: date) -> tuple[date, date]:
        """Return the first and the last day for the next dose; the day of the dose itself is none."""
        first = max(later(dose, self.low, self.unit), dose + timedelta(days=1))
        return first, later(dose, self.high, self.unit) + timedelta(days=self.grace_days)


@lru_cache(maxsize=512)
def _rules(rules: VaccineRules, kind: str) -> tuple[Entry, ...]:
    found = candidates(TOPIC, rules.jurisdiction, rules.overrides)
    return tuple(entry for entry in found if (entry.body["kind"], entry.body["disease"]) == (kind, rules.disease))


def lasting(entry: Entry, dose: date) -> date:
    """Return the last day that a rule on the longest interval allows after a dose."""
    end = later(dose, entry.body["longest"], entry.body["unit"])
    return end + timedelta(days=entry.body.get("grace_days", 0))
