"""The vaccination record of a horse as rules read it: today, on a day asked about, and for its engagements."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from upsides.books.models import Engagement
from upsides.books.queries import moments
from upsides.books.queries.given import Dosed, course
from upsides.books.queries.moments import Moment
from upsides.errors import NoRuleError, UnreadableError
from upsides.rules import (
    DayAnswer,
    Dose,
    DoseWindow,
    Occasion,
    Overrides,
    VaccinationRecord,
    VaccineRules,
    check_vaccinations,
    dose_windows,
    place_named,
    vaccination_record,
)


@dataclass(frozen=True, slots=True)
class Asked:
    """A day that the record matters on.

    Args:
        answer: the record on that day; None where no rule is known for it.
        occasion: what happens.
        on: the day.
        engagement: the race that it is for, None for a day that was asked about.
    """

    answer: DayAnswer | None
    occasion: Occasion
    on: date
    engagement: Engagement | None = None


@dataclass(frozen=True, slots=True)
class Protected:
    """A horse's record against one disease by the rules of one place.

    Args:
        disease: as rules name it.
        place: whose rules were asked.
        record: the record as of the day.
        doses: every dose that was entered, the ones before the present course too, first given first.
        days: the days that matter, in order.
        best: stretches of days on which the next dose suits every engagement.
        races: days of its engagements.
    """

    disease: str
    place: str
    record: VaccinationRecord
    doses: tuple[Dosed, ...]
    days: tuple[Asked, ...]
    best: tuple[DoseWindow, ...]
    races: tuple[date, ...]


def engagements(moment: Moment, horses: Iterable[int] | None = None) -> list[Engagement]:
    """Return the engagements that stood from the moment's day on, those that were given up left out."""
    found = moments.rows(Engagement, moment).filter(day__gte=moment.day).exclude(state=Engagement.State.WITHDRAWN)
    return list((found if horses is None else found.filter(horse__in=list(horses))).order_by("day", "off_at", "id"))


def protection(
    doses: Sequence[Dosed], ahead: Sequence[Engagement], asked: Collection[date], rules: VaccineRules, day: date
) -> Protected | None:
    """Return a horse's record against one disease; None where no rule on it is in force on the day.

    Args:
        doses: the horse's, of every disease.
        ahead: its engagements that these rules are asked about.
        asked: days that are asked about besides.
        rules: the jurisdiction and the disease.
        day: the day on which it is asked.
    """
    record = known_record(doses, rules.disease, day, rules)
    if record is None:
        return None
    days: list[tuple[Occasion, date, Engagement | None]] = [(Occasion.RACE, on, None) for on in asked]
    for one in ahead:
        days += [(occasion, when, one) for occasion, when in closing_days(one) if when >= day]
    own = course(doses, rules.disease)
    held = tuple(_asked(own, rules, *each) for each in sorted(days, key=lambda each: (each[1], each[2] is not None)))
    mine = tuple(one for one in doses if one.disease == rules.disease)
    best = best_days(doses, ahead, record, rules)
    return Protected(rules.disease, rules.jurisdiction, record, mine, held, best, tuple(one.day for one in ahead))


def closing_days(one: Engagement) -> list[tuple[Occasion, date]]:
    """Return the days of an engagement on which the record is looked at, each in the zone of the course."""
    moments_ = ((Occasion.ENTRY, one.enter_by), (Occasion.DECLARATION, one.declare_by))
    found = [(occasion, _local(at, one.zone)) for occasion, at in moments_ if at is not None]
    return [*found, (Occasion.RACE, one.day)]


def place_of(one: Engagement, place: str, overrides: Overrides) -> str:
    """Return whose rules hold for an engagement: those of its country, the yard's where that is not known."""
    try:
        return place_named(one.country, overrides.places) if one.country else place
    except UnreadableError:
        return place


def known_record(doses: Iterable[Dosed], disease: str, day: date, rules: VaccineRules) -> VaccinationRecord | None:
    """Return the record on a day; None where no rule on that disease is in force there."""
    try:
        return vaccination_record(course(doses, disease), day, rules)
    except NoRuleError:
        return None


def best_days(
    doses: Iterable[Dosed], ahead: Sequence[Engagement], record: VaccinationRecord | None, rules: VaccineRules
) -> tuple[DoseWindow, ...]:
    """Return the stretches of days on which the next dose suits every engagement; none where no dose is due."""
    if record is None or record.next_until is None:
        return ()
    races = [one.day for one in ahead]
    entries = [on for one in ahead for occasion, on in closing_days(one) if occasion is not Occasion.RACE]
    return dose_windows(course(doses, record.disease), rules, races, since=record.on, entries=entries)


def _asked(
    doses: Sequence[Dose], rules: VaccineRules, occasion: Occasion, on: date, engagement: Engagement | None
) -> Asked:
    try:
        (answer,) = check_vaccinations(doses, [(occasion, on)], rules)
    except NoRuleError:
        return Asked(None, occasion, on, engagement)
    return Asked(answer, occasion, on, engagement)


def _local(at: datetime, zone: str) -> date:
    return at.astimezone(ZoneInfo(zone)).date()
