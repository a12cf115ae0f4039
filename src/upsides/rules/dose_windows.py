"""On which days the next dose can be given around races, so that the record runs on and no race is missed."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from upsides.rules.book_words import Step
from upsides.rules.counting import first_day
from upsides.rules.doses import Dose, course_begun
from upsides.rules.stand_downs import StandDown
from upsides.rules.vaccination import vaccination_record, vaccine_days_off
from upsides.rules.vaccination_answers import VaccinationRecord
from upsides.rules.vaccine_rules import VaccineRules, lasting


@dataclass(frozen=True, slots=True)
class DoseWindow:
    """Days in a row, both ends among them."""

    first: date
    last: date


@dataclass(frozen=True, slots=True)
class _Plan:
    rules: VaccineRules
    now: VaccinationRecord
    off: tuple[StandDown, ...]


def dose_windows(
    doses: Sequence[Dose], rules: VaccineRules, races: Iterable[date], *, since: date, entries: Iterable[date] = ()
) -> tuple[DoseWindow, ...]:
    """Return the days from `since` on which the next dose suits every race and entry.

    It suits a race before it when the record runs to that race without it; a race after it when the days off have
    passed and the record runs to it. On the day of a race none is given.

    Args:
        doses: the horse's doses so far.
        rules: the jurisdiction and the disease.
        races: days on which it is meant to run.
        since: the first day that is asked about; doses after it are not looked at.
        entries: days on which entries close.

    Returns:
        The stretches of such days, in order; none where the course must begin again, or nothing suits.

    Raises:
        NoRuleError: no rule on that disease is in force there on `since`.
    """
    now = vaccination_record(doses, since, rules)
    if now.next_from is None or now.next_until is None:
        return ()
    plan = _Plan(rules, now, vaccine_days_off(since, rules))
    running, closing = [day for day in races if day >= since], [day for day in entries if day >= since]
    start = max(since, now.next_from)
    days = [start + timedelta(days=n) for n in range((now.next_until - start).days + 1)]
    return _stretches([day for day in days if _suits(day, running, closing, plan)])


def _suits(dose: date, races: list[date], entries: list[date], plan: _Plan) -> bool:
    return all(_race_suits(dose, race, plan) for race in races) and all(
        _runs(plan, entry) if entry < dose else _reaches(dose, entry, plan) for entry in entries
    )


def _race_suits(dose: date, race: date, plan: _Plan) -> bool:
    if dose == race:
        return False
    last = dose if dose < race else plan.now.given[-1].on
    runs = _reaches(dose, race, plan) if dose < race else _runs(plan, race)
    return runs and _rested(last, race, plan) and _fresh(last, race, plan)


def _rested(dose: date, race: date, plan: _Plan) -> bool:
    starts = (first_day(dose, rest.count, rest.unit, rest.counting) for rest in plan.off)
    return all(start is None or start <= race for start in starts)


def _runs(plan: _Plan, day: date) -> bool:
    return plan.now.runs_until is not None and day <= plan.now.runs_until


def _fresh(dose: date, race: date, plan: _Plan) -> bool:
    """Return whether a dose is recent enough for a race, where a rule asks for more than an unbroken record."""
    entry = plan.rules.rule("before the race", race)
    return entry is None or race <= lasting(entry, dose)


def _reaches(dose: date, day: date, plan: _Plan) -> bool:
    """Return whether the record runs to `day` once the dose is given."""
    if plan.now.next_step is Step.SECOND:
        third = plan.rules.interval(Step.THIRD, course_begun(plan.now.given), dose)
        return third is None or day <= third.after(dose)[1]
    entry = plan.rules.rule("booster", day)
    return entry is None or day <= lasting(entry, dose)


def _stretches(days: list[date]) -> tuple[DoseWindow, ...]:
    found: list[DoseWindow] = []
    for day in days:
        if found and day - found[-1].last == timedelta(days=1):
            found[-1] = DoseWindow(found[-1].first, day)
        else:
            found.append(DoseWindow(day, day))
    return tuple(found)
