"""Whether a horse's vaccination record is in order on a day, why not, and when the next dose must be given.

A dose is looked at on each day that matters by itself: a record can be in order when the horse is entered and out of
order when it runs. None of this replaces the authority's current code.
"""

from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from upsides.errors import NoRuleError
from upsides.errors.wording import gettext as _
from upsides.rules.book_words import Step
from upsides.rules.doses import Dose, ReadDose, course_begun, read_doses
from upsides.rules.jurisdictions import place_named
from upsides.rules.lookup import NONE, Overrides, candidates
from upsides.rules.rule import Entry, Rule
from upsides.rules.stand_downs import StandDown, stand_downs
from upsides.rules.vaccination_answers import (
    DayAnswer,
    Occasion,
    VaccinationFinding,
    VaccinationReason,
    VaccinationRecord,
)
from upsides.rules.vaccine_rules import HERPESVIRUS, INFLUENZA, TOPIC, VaccineRules, lasting


def diseases_asked(jurisdiction: str, on: date, *, overrides: Overrides = NONE) -> tuple[str, ...]:
    """Return the diseases against which a jurisdiction asks for vaccination on a day."""
    found = [entry for entry in candidates(TOPIC, jurisdiction, overrides) if entry.body["kind"] == "booster"]
    asked = {entry.body["disease"] for entry in found if entry.rule.in_force(on)}
    return tuple(sorted(asked, key=lambda disease: (disease not in {INFLUENZA, HERPESVIRUS}, disease != INFLUENZA)))


def vaccination_record(doses: Iterable[Dose], on: date, rules: VaccineRules) -> VaccinationRecord:
    """Return a horse's record as of a day: the doses up to then, how long it runs, and when the next one is due.

    Raises:
        NoRuleError: no rule on that disease is in force there on that day.
    """
    _asked(rules, on)
    given = read_doses((dose for dose in doses if dose.on <= on), rules)
    due = _due(given, on, rules)
    if due is None or on > due[1]:
        return VaccinationRecord(rules.disease, on, given, None, Step.FIRST, None, None, _course_rule(rules, on))
    first, last, entry = due
    runs = None if given[-1].step is Step.FIRST else last
    return VaccinationRecord(rules.disease, on, given, runs, given[-1].step.after, first, last, entry.rule)


def check_vaccinations(
    doses: Sequence[Dose], days: Iterable[tuple[Occasion, date]], rules: VaccineRules
) -> tuple[DayAnswer, ...]:
    """Return, for each day that matters, whether the record is in order on it, and if not why.

    Args:
        doses: the horse's doses, in any order; planned ones may be among them.
        days: what happens when; the doses up to each day count for it.
        rules: the jurisdiction and the disease.

    Raises:
        NoRuleError: no rule on that disease is in force there on one of the days.
    """
    return tuple(_answer(doses, occasion, on, rules) for occasion, on in days)


def _answer(doses: Sequence[Dose], occasion: Occasion, on: date, rules: VaccineRules) -> DayAnswer:
    _asked(rules, on)
    given = read_doses((dose for dose in doses if dose.on <= on), rules)
    findings = [found for found in (_standing(given, on, rules),) if found]
    if occasion in {Occasion.RACE, Occasion.ARRIVAL} and given:
        findings += _on_the_day(given[-1].on, on, rules)
    asked = rules.rule("entry", on) if occasion is Occasion.ENTRY else None
    faults = tuple(dose.fault for dose in given if dose.fault)
    return DayAnswer(occasion, on, not findings, tuple(findings), faults, asked.rule if asked else None)


def _standing(given: tuple[ReadDose, ...], on: date, rules: VaccineRules) -> VaccinationFinding | None:
    if not given:
        return VaccinationFinding(VaccinationReason.NO_DOSE, on, None, None, None, _course_rule(rules, on))
    due, last = _due(given, on, rules), given[-1]
    days = (on - last.on).days
    if due is None:
        return None
    overdue = {Step.FIRST: VaccinationReason.SECOND_OVERDUE, Step.SECOND: VaccinationReason.THIRD_OVERDUE}
    if on > due[1]:
        return VaccinationFinding(
            overdue.get(last.step, VaccinationReason.BOOSTER_OVERDUE), on, last.on, due[1], days, due[2].rule
        )
    if last.step is Step.FIRST:
        return VaccinationFinding(VaccinationReason.SECOND_MISSING, on, last.on, due[1], days, due[2].rule)
    return None


def _on_the_day(dose: date, on: date, rules: VaccineRules) -> list[VaccinationFinding]:
    """Return what a race day or an arrival asks of the last dose besides: recent enough, and not too recent."""
    days, found = (on - dose).days, []
    entry = rules.rule("before the race", on)
    if entry is not None and on > lasting(entry, dose):
        found.append(
            VaccinationFinding(VaccinationReason.LAST_DOSE_TOO_OLD, on, dose, lasting(entry, dose), days, entry.rule)
        )
    return found + [
        VaccinationFinding(VaccinationReason.DOSE_TOO_RECENT, on, dose, rest.first_day, days, rest.rule)
        for rest in vaccine_days_off(dose, rules)
        if rest.first_day and on < rest.first_day
    ]


def vaccine_days_off(dose: date, rules: VaccineRules) -> tuple[StandDown, ...]:
    """Return what keeps a horse away from a race, or from arriving, after a dose."""
    found = stand_downs("vaccine", [dose], rules.jurisdiction, of=rules.disease, overrides=rules.overrides)
    return tuple(rest for rest in found if set(rest.applies_to) & {"race", "arrival"})


def _due(given: tuple[ReadDose, ...], on: date, rules: VaccineRules) -> tuple[date, date, Entry] | None:
    """Return between which days the next dose is due, and the rule; None without a dose or a rule."""
    if not given:
        return None
    last = given[-1]
    interval = rules.interval(last.step.after, course_begun(given), on)
    if interval is None:
        return None
    first, end = interval.after(last.on)
    if last.step.after is Step.BOOSTER:
        end = _before_a_change(end, last.on, on, interval.entry, rules)
    return first, end, interval.entry


def _before_a_change(end: date, dose: date, on: date, entry: Entry, rules: VaccineRules) -> date:
    """Return the last day of the record where a rule to come allows a shorter interval than the one in force."""
    change = rules.rule("booster", end)
    begins = change.rule.valid_from if change else None
    if change is None or change is entry or begins is None or not on < begins <= end:
        return end
    return min(end, max(lasting(change, dose), begins - timedelta(days=1)))


def _course_rule(rules: VaccineRules, on: date) -> Rule | None:
    entry = rules.rule("course", on)
    return entry.rule if entry else None


def _asked(rules: VaccineRules, on: date) -> None:
    if rules.rule("booster", on) is None:
        exists = [str(entry.rule) for kind in ("course", "booster") for entry in rules.of_kind(kind)]
        place = place_named(rules.jurisdiction, rules.overrides.places)
        raise NoRuleError(_("vaccination against {disease}", disease=rules.disease), place, on, exists)
