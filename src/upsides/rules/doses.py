"""Reading doses of a vaccine into a course: which is the first, the second, the third, a booster, and what went wrong.

The first dose's day decides which intervals hold for the course; the later dose's day decides for boosters. A dose
that misses its days begins the course again, as its first. That reading is ours; the authority's stands.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from upsides.rules.book_words import Step
from upsides.rules.rule import Rule
from upsides.rules.vaccine_rules import INFLUENZA, VaccineRules


@dataclass(frozen=True, slots=True)
class Dose:
    """One dose as the passport has it.

    Attributes:
        on: day on which it was given.
        disease: what it is against.
        stated: which dose the passport says it is; used for the earliest dose known only.
    """

    on: date
    disease: str = INFLUENZA
    stated: Step | None = None


class DoseFaultKind(StrEnum):
    """What is wrong with a dose, or worth knowing of it."""

    TOO_SOON = "too soon"
    TOO_LATE = "too late"
    EARLIER_NOT_SEEN = "earlier not seen"


@dataclass(frozen=True, slots=True)
class DoseFault:
    """What is wrong with one dose.

    Attributes:
        fault: what.
        step: which dose it would have been.
        on: its day.
        days: days since the dose before; None where none was seen.
        earliest, latest: the days between which it could have been given.
        low, high, unit: the interval allowed, in days or calendar months.
        rule: the rule that says so.
    """

    fault: DoseFaultKind
    step: Step
    on: date
    days: int | None = None
    earliest: date | None = None
    latest: date | None = None
    low: int = 0
    high: int = 0
    unit: str = "days"
    rule: Rule | None = None

    def __str__(self) -> str:
        if self.fault is DoseFaultKind.EARLIER_NOT_SEEN:
            return f"the {self.step} of {self.on} is the earliest known; the doses before it were not seen"
        allowed = f"{self.low} to {self.high}" if self.low else f"at most {self.high}"
        return (
            f"{self.step} of {self.on} {self.days} days after the one before; {allowed} {self.unit} are allowed, here "
            f"{self.earliest} to {self.latest} ({self.rule}). The course begins again with it"
        )


@dataclass(frozen=True, slots=True)
class ReadDose:
    """A dose that was read: which it counts as, and what is wrong with it."""

    on: date
    step: Step
    fault: DoseFault | None = None


def read_doses(doses: Iterable[Dose], rules: VaccineRules) -> tuple[ReadDose, ...]:
    """Read the doses against one disease, in any order and with repeats, into a course.

    Returns:
        One item a day of vaccination, in order of days.
    """
    stated: dict[date, Step | None] = {}
    for dose in doses:
        if dose.disease == rules.disease:
            stated[dose.on] = stated.get(dose.on) or dose.stated
    read: list[ReadDose] = []
    for day in sorted(stated):
        read.append(_next(read, day, rules) if read else _earliest(day, stated[day]))
    return tuple(read)


def _earliest(day: date, stated: Step | None) -> ReadDose:
    if stated is None or stated is Step.FIRST:
        return ReadDose(day, Step.FIRST)
    return ReadDose(day, stated, DoseFault(DoseFaultKind.EARLIER_NOT_SEEN, stated, day))


def _next(read: list[ReadDose], day: date, rules: VaccineRules) -> ReadDose:
    before, step = read[-1], read[-1].step.after
    allowed = rules.interval(step, course_begun(read), day)
    if allowed is None:
        return ReadDose(day, step)
    first, last = allowed.after(before.on)
    if first <= day <= last:
        return ReadDose(day, step)
    kind = DoseFaultKind.TOO_SOON if day < first else DoseFaultKind.TOO_LATE
    days, rule = (day - before.on).days, allowed.entry.rule
    fault = DoseFault(kind, step, day, days, first, last, allowed.low, allowed.high, allowed.unit, rule)
    return ReadDose(day, Step.FIRST, fault)


def course_begun(read: Iterable[ReadDose]) -> date:
    """Return the day of the last first dose, or of the earliest dose known where none was seen."""
    days = list(read)
    return next((given.on for given in reversed(days) if given.step is Step.FIRST), days[0].on)
