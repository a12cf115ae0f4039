"""One horse's medicines: until when it stands down and why, what is published, its vaccination record."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Final

from django.http import QueryDict

from upsides.books.diary.medicine import DISEASES as KEPT
from upsides.books.models import Engagement, Horse, Person
from upsides.books.queries import moments
from upsides.books.queries.given import Dosed, Given, Reason, dosed, given, reasons
from upsides.books.queries.moments import Moment
from upsides.books.queries.vaccinated import Asked, Protected, engagements, place_of, protection
from upsides.books.queries.yard_rules import own_place
from upsides.rules import CAUTION, Overrides, PublishedTime, VaccineRules, diseases_asked, published_times
from upsides.web.medicine.asking import day_of, places_of, ruled_places
from upsides.web.medicine.register_page import rules_here
from upsides.web.medicine.sentences import about_best, about_day, about_horse, about_record, fault, which_day
from upsides.web.medicine.words import CONFIDENCE, PUBLISHED, STEPS, counted, deeds, disease, follows, hours

LATELY: Final = 60
"""Days within which treatments are shown, and what is published for them."""


@dataclass(frozen=True, slots=True)
class Course:
    """A treatment as the page shows it.

    Args:
        given: the treatment, as it was last given.
        numbers: of the entries of all its doses.
        prescriber: name of who prescribed it, empty where nobody was named.
        today: whether it was entered today.
        runs: whether its course has not ended.
    """

    given: Given
    numbers: tuple[int, ...]
    prescriber: str
    today: bool
    runs: bool


def horse_page(horse: Horse, moment: Moment, query: QueryDict) -> dict[str, Any]:
    """Return what the page of one horse's medicines shows.

    Raises:
        UnreadableError: the day that is asked about cannot be read.
    """
    own, on = rules_here(), day_of(query.get("on", ""))
    place, known = own_place(moment, own.overrides), ruled_places(own.overrides)
    treated, doses = given(moment, [horse.id]), dosed(moment, [horse.id])
    ahead = engagements(moment, [horse.id])
    usual = list(dict.fromkeys([place, *(place_of(one, place, own.overrides) for one in ahead)]))
    places = places_of(query, usual, known)
    found = [one for where in places for one in reasons(treated, doses, where, own.overrides)]
    binding = _in_order([one for one in found if one.binds(moment.day)])
    here = [one for one in binding if one.jurisdiction == places[0]]
    asked = _Asking(places, moment.day, on, own.overrides, place)
    return {
        "moment": moment,
        "horse": horse,
        "sentence": about_horse(horse.name, places[0], here, moment.day),
        "caution": CAUTION,
        "fault": own.fault,
        "asked": places,
        "unruled": [where for where in places if where not in known],
        "choices": [(where, where in places) for where in dict.fromkeys([*usual, *known])],
        "on": on,
        "stand_downs": [_stand_down(one) for one in binding],
        "courses": courses(treated, moment),
        "published": published(treated, moment, places, own.overrides),
        "records": [_record(one, moment.day) for one in _records(doses, ahead, asked)],
        "others": [(one, disease(one.disease)) for one in doses if one.disease not in _asked_for(asked)],
        "diseases": list(KEPT.items()),
    }


@dataclass(frozen=True, slots=True)
class _Asking:
    """Whose rules are asked, on which days; `own` is the yard's jurisdiction."""

    places: Sequence[str]
    today: date
    on: date | None
    overrides: Overrides
    own: str


def _asked_for(asked: _Asking) -> set[str]:
    return {one for place in asked.places for one in diseases_asked(place, asked.today, overrides=asked.overrides)}


def _records(doses: list[Dosed], ahead: list[Engagement], asked: _Asking) -> list[Protected]:
    found = []
    days = list(dict.fromkeys([asked.today, *([asked.on] if asked.on else [])]))
    for place in asked.places:
        races = [one for one in ahead if place_of(one, asked.own, asked.overrides) == place]
        for name in diseases_asked(place, asked.today, overrides=asked.overrides):
            rules = VaccineRules(place, name, asked.overrides)
            found.append(protection(doses, races, days, rules, asked.today))
    return [one for one in found if one is not None]


def _record(one: Protected, today: date) -> dict[str, Any]:
    """Return a record as the page shows it."""
    read = {dose.on: dose for dose in one.record.given}
    return {
        "disease": disease(one.disease),
        "place": one.place,
        "sentence": about_record(one),
        "best": about_best(one),
        "rule": one.record.rule,
        "confidence": CONFIDENCE[one.record.rule.confidence] if one.record.rule else "",
        "days": [_day(asked, today) for asked in one.days],
        "doses": [
            (
                dose,
                STEPS[read[dose.on].step] if dose.on in read else "",
                fault(read[dose.on].fault) if dose.on in read else "",
            )
            for dose in reversed(one.doses)
        ],
    }


def _day(one: Asked, today: date) -> dict[str, Any]:
    answer = one.answer
    rules = [found.rule for found in answer.findings if found.rule] if answer else []
    return {
        "on": one.on,
        "which": which_day(one, today),
        "words": about_day(one),
        "wrong": answer is not None and not answer.in_order,
        "rules": list(dict.fromkeys([*rules, *([answer.asked_by] if answer and answer.asked_by else [])])),
    }


def _stand_down(one: Reason) -> dict[str, Any]:
    rest = one.stand_down
    return {
        "reason": one,
        "rest": rest,
        "follows": follows(one),
        "deeds": deeds(rest),
        "counted": counted(rest),
        "confidence": CONFIDENCE[rest.rule.confidence],
    }


def _in_order(found: list[Reason]) -> list[Reason]:
    """Return reasons by place as they came, the one that lasts longest first and limits without a count last."""
    places = list(dict.fromkeys(one.jurisdiction for one in found))
    never = date.min
    return sorted(
        found,
        key=lambda one: (places.index(one.jurisdiction), -(one.stand_down.first_day or never).toordinal()),
    )


def courses(treated: Sequence[Given], moment: Moment) -> list[Course]:
    """Return the treatments of late, each course once with its last dose, the latest first."""
    doses: dict[tuple[str, str | int], list[Given]] = {}
    for one in treated:
        if one.last >= moment.day - timedelta(days=LATELY):
            key = (one.treatment.product.casefold(), one.treatment.course_end or one.number)
            doses.setdefault(key, []).append(one)
    names = moments.names(Person, moment, (own[-1].treatment.prescriber for own in doses.values()))
    found = [_course(own, names, moment) for own in doses.values()]
    return sorted(found, key=lambda one: one.given.at, reverse=True)


def _course(doses: Sequence[Given], names: Mapping[int | None, str], moment: Moment) -> Course:
    last = doses[-1]
    return Course(
        last,
        tuple(one.number for one in doses),
        names.get(last.treatment.prescriber, ""),
        last.at.date() == moment.day,
        bool(last.treatment.course_end) and last.last >= moment.day,
    )


def published(
    treated: Sequence[Given], moment: Moment, places: Sequence[str], overrides: Overrides
) -> list[dict[str, Any]]:
    """Return what is published for the substances of late, the kinds kept apart."""
    late = [one for one in treated if one.last >= moment.day - timedelta(days=LATELY)]
    names = dict.fromkeys(one.treatment.substance for one in late if one.treatment.substance)
    times: dict[PublishedTime, None] = {}
    for name in names:
        for place in places:
            times |= dict.fromkeys(published_times(name, place, moment.day, overrides=overrides))
    return [
        {
            "title": title,
            "what": what,
            "times": [(one, hours(one.hours), CONFIDENCE[one.rule.confidence]) for one in times if one.kind is kind],
        }
        for kind, (title, what) in PUBLISHED.items()
        if any(one.kind is kind for one in times)
    ]
