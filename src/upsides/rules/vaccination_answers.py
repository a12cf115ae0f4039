"""What is answered about a vaccination record: codes and values, each with an English sentence."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from upsides.rules.book_words import Step
from upsides.rules.doses import DoseFault, ReadDose
from upsides.rules.rule import Rule


class Occasion(StrEnum):
    """A day on which the record matters."""

    ENTRY = "entry"
    DECLARATION = "declaration"
    RACE = "race"
    ARRIVAL = "arrival"


class VaccinationReason(StrEnum):
    """Why a record is not in order."""

    NO_DOSE = "no dose"
    SECOND_MISSING = "second dose missing"
    SECOND_OVERDUE = "second dose overdue"
    THIRD_OVERDUE = "third dose overdue"
    BOOSTER_OVERDUE = "booster overdue"
    LAST_DOSE_TOO_OLD = "last dose too old for the occasion"
    DOSE_TOO_RECENT = "dose too recent"


@dataclass(frozen=True, slots=True)
class VaccinationFinding:
    """One reason why a record is not in order on a day.

    Attributes:
        reason: which.
        on: the day asked about.
        dose: day of the last dose, None where there is none.
        bound: the last day on which that dose was enough, or, for a dose too recent, the first day on which it is
            old enough; None where there is none.
        days: days from that dose to the day asked about.
        rule: the rule that says so.
    """

    reason: VaccinationReason
    on: date
    dose: date | None
    bound: date | None
    days: int | None
    rule: Rule | None

    def __str__(self) -> str:
        match self.reason:
            case VaccinationReason.NO_DOSE:
                return f"no dose on or before {self.on} ({self.rule})"
            case VaccinationReason.SECOND_MISSING:
                return f"only a first dose, on {self.dose}; the second is due by {self.bound} ({self.rule})"
            case VaccinationReason.DOSE_TOO_RECENT:
                return f"dose on {self.dose}, {self.days} days before; from {self.bound} on it may ({self.rule})"
            case _:
                ran = f"last dose on {self.dose}, {self.days} days before; it ran to {self.bound}"
                return f"{self.reason}: {ran} ({self.rule})"


@dataclass(frozen=True, slots=True)
class DayAnswer:
    """The record on one day.

    Attributes:
        occasion, on: what was asked.
        in_order: whether nothing known to these rules speaks against the record on that day.
        findings: what does.
        faults: what is wrong with doses up to that day, or worth knowing of them.
        asked_by: the rule that has the record looked at on such a day; None where none was found.
    """

    occasion: Occasion
    on: date
    in_order: bool
    findings: tuple[VaccinationFinding, ...]
    faults: tuple[DoseFault, ...]
    asked_by: Rule | None

    def __str__(self) -> str:
        why = (
            "; ".join(map(str, (*self.findings, *self.faults)))
            or "nothing known to these rules speaks against the record"
        )
        return f"{self.occasion} on {self.on}: {'in order' if self.in_order else 'not in order'}: {why}"


@dataclass(frozen=True, slots=True)
class VaccinationRecord:
    """A horse's record against one disease, as of a day.

    Attributes:
        disease, on: what and when.
        given: the doses up to that day, as they were read; a fault stands with its dose.
        runs_until: last day on which it stays in order without another dose; None where it is not in order.
        next_step: which dose comes next.
        next_from, next_until: the days in which it must be given; None where the course must begin again, on any day.
        rule: the rule that the next dose falls under.
    """

    disease: str
    on: date
    given: tuple[ReadDose, ...]
    runs_until: date | None
    next_step: Step
    next_from: date | None
    next_until: date | None
    rule: Rule | None
