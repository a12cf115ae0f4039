"""What keeps a horse from running besides a race's own conditions: vaccination, stand-downs, another yard, its mark.

A stand-down is a legal minimum, and a vaccination record in order is only that: neither says that a horse is fit.
"""

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Final

from upsides.errors import NoRuleError
from upsides.placing.answers import Finding, Says, finding
from upsides.placing.conditions.who import Terms
from upsides.placing.horse import Horse, Treated
from upsides.placing.race import Race, Stage
from upsides.rules import (
    DayAnswer,
    Occasion,
    Overrides,
    VaccineRules,
    check_vaccinations,
    diseases_asked,
    first_day_for,
    published_times,
    runs_for_mark,
    stand_downs,
    to_declare,
)
from upsides.rules.jurisdictions import chain, named
from upsides.trade.sex import Born

RACE: Final = "race"
LOOKED_BACK: Final = 90
"""Days before a race within which a medicine is named; our choice. Older ones may matter: the vet knows."""


def bars(horse: Horse, race: Race, terms: Terms) -> Iterator[Finding]:
    """Yield every reason known outside the race's conditions for which a horse may not run in it."""
    yield from _in_the_yard(horse, race)
    yield from _kept(horse, race)
    yield from _marked_elsewhere(horse, race)
    yield from _marked_early(horse, race, race.rules(terms.yard))
    for one in horse.treated:
        yield from _stood_down(one, race, race.rules(terms.yard))
    yield from _vaccinated(horse, race, race.rules(terms.yard))


def _in_the_yard(horse: Horse, race: Race) -> Iterator[Finding]:
    if horse.left is not None and horse.left < race.day:
        yield finding("left", Says.NO, day=horse.left + timedelta(days=1))
    if horse.came is not None and horse.came > race.day:
        yield finding("not yet here", Says.NO, day=horse.came)


def _kept(horse: Horse, race: Race) -> Iterator[Finding]:
    for one in horse.kept:
        if one.first <= race.day and (one.last is None or race.day <= one.last):
            yield finding("kept", Says.NO, reason=one.reason, until=one.last or "no end set")


def _marked_elsewhere(horse: Horse, race: Race) -> Iterator[Finding]:
    """Yield that a mark of another country counts, where a handicap may not take it as its own."""
    if not race.handicap or not race.jurisdiction:
        return
    here = set(_places(race.jurisdiction))
    marks = [mark for mark in horse.marks_on(race.day, race.surface or "") if mark and mark.jurisdiction]
    for place in dict.fromkeys(mark.jurisdiction for mark in marks):
        if not here & set(_places(place)):
            yield finding("mark elsewhere", Says.UNKNOWN, of=named(place), race=named(race.jurisdiction))


def _places(text: str) -> tuple[str, ...]:
    """Return a place and those that it lies within; one that no rule knows stands for itself."""
    return chain(named(text), (named(text),))[:-1]


def _marked_early(horse: Horse, race: Race, rules: Overrides) -> Iterator[Finding]:
    """Yield whether a handicap takes a horse that has its mark by winning at its second start, and nothing else."""
    marks = horse.marks_on(race.day, race.surface or "")
    try:
        rule = runs_for_mark(race.jurisdiction, race.day, overrides=rules)
    except NoRuleError:
        return
    if not race.handicap or not marks or rule.second_most is None or race.race_class not in rule.second_classes:
        return
    runs = sorted((run for run in horse.ran_before(race.day) if run.code == race.code), key=lambda run: run.day)
    if len(runs) < rule.runs and [run.won for run in runs[:2]] == [False, True]:
        for value in dict.fromkeys(mark.value for mark in marks if mark):
            above = Says.NO if horse.mark(race.day, race.surface or "") else Says.UNKNOWN
            says = Says.YES if value <= rule.second_most else above
            yield Finding("second start", says, (("mark", value), ("most", rule.second_most)), rule.rule)


def _stood_down(one: Treated, race: Race, rules: Overrides) -> Iterator[Finding]:
    found = stand_downs(one.what, one.days, race.jurisdiction, of=one.of, at=one.at, overrides=rules)
    longest = first_day_for(RACE, found)
    if longest is not None and longest.first_day is not None and race.day < longest.first_day:
        says = Says.UNKNOWN if longest.advice else Says.NO
        yield Finding(
            "stand-down", says, (("treatment", one.what), ("first_day", longest.first_day)), longest.rule, longest.says
        )


def _vaccinated(horse: Horse, race: Race, rules: Overrides) -> Iterator[Finding]:
    for disease in diseases_asked(race.jurisdiction, race.day, overrides=rules):
        if horse.doses is None:
            yield finding("vaccination not seen", Says.UNKNOWN, disease=disease)
            continue
        asked = VaccineRules(race.jurisdiction, disease, rules)
        try:
            answers = check_vaccinations(horse.doses, _occasions(race), asked)
        except NoRuleError as error:
            yield finding("no rule", Says.UNKNOWN, topic=error.topic, place=error.jurisdiction)
            continue
        yield from (found for answer in answers for found in _answered(answer, disease))


def _occasions(race: Race) -> list[tuple[Occasion, date]]:
    """Return the days on which the record is looked at: the closing of entries, where known, and the race."""
    closes = race.closes()
    return [*([(Occasion.ENTRY, closes)] if closes else []), (Occasion.RACE, race.day)]


def _answered(answer: DayAnswer, disease: str) -> Iterator[Finding]:
    if answer.occasion is Occasion.ENTRY and answer.asked_by is None:
        return
    for one in answer.findings:
        facts = (("disease", disease), ("occasion", answer.occasion), ("day", answer.on), ("reason", one.reason))
        yield Finding("vaccination", Says.NO, (*facts, ("bound", one.bound or "")), one.rule)


def to_tell(horse: Horse, race: Race, terms: Terms) -> Iterator[Finding]:
    """Yield what is to be told or asked besides: gelded since it last ran; medicines given before the race."""
    yield from _gelded(horse, race, terms)
    for one in horse.given:
        days = (race.day - one.day).days
        if 0 <= days <= LOOKED_BACK:
            found = published_times(one.substance, race.jurisdiction, race.day, overrides=race.rules(terms.yard))
            yield finding("medicine", Says.YES, substance=one.substance, day=one.day, days=days, published=found)


def _gelded(horse: Horse, race: Race, terms: Terms) -> Iterator[Finding]:
    if horse.born is Born.FEMALE or horse.gelded is None or not horse.foaled < horse.gelded <= race.day:
        return
    last = max((run.day for run in horse.ran_before(race.day)), default=None)
    if last is not None and last >= horse.gelded:
        return
    try:
        asked = to_declare("gelded", race.jurisdiction, horse.gelded, overrides=race.rules(terms.yard))
    except NoRuleError:
        return
    stage = Stage.ENTER if asked.by == "entry" else Stage.DECLARE
    if asked.raced_only and last is None:
        return
    yield Finding("tell gelded", Says.YES, (("day", horse.gelded), ("by", stage)), asked.rule)
