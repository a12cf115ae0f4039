"""A day of racing: each runner with weight, jockey, who leads it up, how it travels, what stands against it."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any, Final
from zoneinfo import ZoneInfo

from upsides.books import clock
from upsides.books.models import Engagement, Person, Role
from upsides.books.queries import moments
from upsides.books.queries.at_the_wheel import Drove, drove
from upsides.books.queries.chances_wanted import pounds_of
from upsides.books.queries.engaged import Engaged, engaged
from upsides.books.queries.entrants import entrants, terms_of
from upsides.books.queries.jockeys import Hindrance, Ride, hindrances
from upsides.books.queries.moments import Moment
from upsides.books.queries.pace import Early, early_places
from upsides.books.queries.placing import Case, case_of
from upsides.books.queries.race_day_doses import DoseOnTheDay, doses_on
from upsides.books.queries.working_limits import Ground, ground, with_journeys
from upsides.errors import NoRuleError
from upsides.placing import Finding, Says, Terms
from upsides.results.race_cards import CardRunner, read_card
from upsides.rules import Driving, OverLimit, Shift, driving


@dataclass(frozen=True, slots=True)
class Road:
    """A driver's day held against the rules.

    Args:
        over: limits of work that it goes over, with the rest of the driver's hours.
        elsewhere: a course to which the same driver goes at the same time; empty for none.
        wheel: what holds for hours at the wheel; None where no rule is known.
    """

    over: tuple[OverLimit, ...] = ()
    elsewhere: str = ""
    wheel: Driving | None = None


NOTHING: Final = Road()


@dataclass(frozen=True, slots=True)
class Runner:
    """A declared horse on its day.

    Args:
        one: the horse, the race, what was said.
        case: what the rules say of it.
        off: when the race is off by the course's clock, None where that is not known.
        jockey: his name, empty where none is written down.
        claim_lb: what he claims; None for nothing.
        carries_lb: what is on the card, pounds; None where it cannot be told.
        after_claim_lb: the same less the claim.
        hindrances: what stands in the way of the jockey.
        leads_up, driver: names, empty for nobody.
        leaves, back: when it leaves and is back, in the yard's time; None where that is not written down.
        against: findings that say no, or of which it is not known what they say.
        notes: what is to be told or known besides.
        road: what stands against the driver's day.
        card: the runners of its race, as they are written down.
        early: where the runners were early in past races.
        doses: its vaccinations as they stand on the day, by disease.
    """

    one: Engaged
    case: Case
    off: datetime | None
    jockey: str
    claim_lb: int | None
    carries_lb: float | None
    after_claim_lb: float | None
    hindrances: tuple[Hindrance, ...]
    leads_up: str
    driver: str
    leaves: datetime | None
    back: datetime | None
    against: tuple[Finding, ...]
    notes: tuple[Finding, ...]
    road: "Road" = field(default_factory=lambda: NOTHING)
    card: tuple[CardRunner, ...] = ()
    early: tuple[Early, ...] = ()
    doses: tuple[DoseOnTheDay, ...] = ()

    @property
    def away(self) -> timedelta | None:
        """Return how long the driver is on the road and at the course."""
        return self.back - self.leaves if self.leaves and self.back else None


def next_race_day(moment: Moment) -> date | None:
    """Return the first day from the moment's on for which a horse is declared; None for none."""
    rows = moments.rows(Engagement, moment).filter(day__gte=moment.day, state=Engagement.State.DECLARED)
    return rows.order_by("day").values_list("day", flat=True).first()


def race_day(folder: Path, moment: Moment, day: date) -> list[Runner]:
    """Return the declared runners of a day, in the order in which their races are off."""
    found = [one for one in engaged(folder, moment, day, day) if one.engagement.state == Engagement.State.DECLARED]
    known = entrants(folder, moment, [one.horse for one in found])
    people = _people(moment, found)
    terms = terms_of(folder)
    cases = {one.horse.pk: case_of(one.engagement.race_code, one.race, one.horse, known[one.horse.pk], terms)
             for one in found}  # fmt: skip
    runners = [_runner(folder, moment, one, cases[one.horse.pk], people) for one in found]
    roads = _roads(moment, runners, terms)
    doses = doses_on(moment, ((one.horse.pk, one.race) for one in found), terms.yard)
    runners = [
        replace(one, road=road, doses=doses[one.one.horse.pk], **_pace(folder, moment, one, runners))
        for one, road in zip(runners, roads, strict=True)
    ]
    return sorted(runners, key=lambda one: (one.off is None, one.one.race.off, one.one.horse.name))


def _pace(folder: Path, moment: Moment, one: Runner, runners: Sequence[Runner]) -> dict[str, Any]:
    """Return the card of a runner's race, and where its runners were early."""
    code = one.one.engagement.race_code
    ours = {each.one.horse.name: each.one.horse.horse_key for each in runners if each.one.engagement.race_code == code}
    card = read_card(folder, code, moment.at) if code else ()
    return {"card": card, "early": tuple(early_places(folder, moment, card, ours))}


def wheel_of(folder: Path, moment: Moment, day: date) -> list[Drove]:
    """Return who was at the wheel on a day, as was written down by a moment."""
    return drove(moment, day, ground(moment, terms_of(folder).yard))


def _roads(moment: Moment, runners: Sequence[Runner], terms: Terms) -> list[Road]:
    """Return each runner's driver's day held against the rules, in the order given; what was driven counts as work."""
    away: dict[int, list[Shift]] = defaultdict(list)
    for one in runners:
        if one.one.engagement.driver_id and one.leaves and one.back:
            away[one.one.engagement.driver_id].append(Shift(one.leaves, one.back))
    on = ground(moment, terms.yard)
    for driver in drove(moment, runners[0].one.engagement.day, on) if runners else ():
        if driver.number in away:
            away[driver.number] += [one.when for one in driver.stretches]
    try:
        over = with_journeys(moment, away, on)
    except NoRuleError:
        over = {}
    return [_road(one, runners, over, on) for one in runners]


def _road(one: Runner, runners: Sequence[Runner], over: Mapping[int, tuple[OverLimit, ...]], on: Ground) -> Road:
    driver = one.one.engagement.driver_id
    if driver is None or one.leaves is None or one.back is None:
        return NOTHING
    at_once = [
        other.one.race.course
        for other in runners
        if other.one.engagement.driver_id == driver and other.leaves and other.back
        and other.one.race.course != one.one.race.course and other.leaves < one.back and one.leaves < other.back
    ]  # fmt: skip
    try:
        wheel = driving(on.jurisdiction, one.leaves.date(), overrides=on.overrides)
    except NoRuleError:
        wheel = None
    return Road(over.get(driver, ()), at_once[0] if at_once else "", wheel)


def _people(moment: Moment, found: list[Engaged]) -> dict[int | None, str]:
    rows = [one.engagement for one in found]
    return moments.names(Person, moment, [number for row in rows for number in (row.leads_up_id, row.driver_id)])


def _runner(folder: Path, moment: Moment, one: Engaged, case: Case, people: dict[int | None, str]) -> Runner:
    row, ride, zone = one.engagement, one.ride, clock.place().zone
    claim = ride.claim_lb if ride else None
    pounds = pounds_of(case.carried)
    rider = ride.rider if ride else None
    booked = Ride(rider, ride.jockey, claim) if ride else None
    found = hindrances(folder, moment, booked, one.horse, one.race, row.race_code) if booked else []
    findings = case.eligible.findings
    return Runner(
        one=one,
        case=case,
        off=one.race.off.astimezone(ZoneInfo(row.zone)) if one.race.off else None,
        jockey=(rider.name if rider else ride.jockey) if ride else "",
        claim_lb=claim,
        carries_lb=pounds,
        after_claim_lb=None if pounds is None else pounds - (claim or 0),
        hindrances=tuple(found),
        leads_up=people.get(row.leads_up_id, ""),
        driver=people.get(row.driver_id, ""),
        leaves=row.leaves_at.astimezone(zone) if row.leaves_at else None,
        back=row.back_at.astimezone(zone) if row.back_at else None,
        against=tuple(each for each in findings if each.says is not Says.YES),
        notes=case.eligible.notes,
    )


def hands(moment: Moment) -> list[Person]:
    """Return who may lead up or drive: everybody of the books but those who only own horses."""
    working = Person.objects.filter(posts__role__in=[role for role in Role if role != Role.OWNER])
    owning = Person.objects.filter(posts__role=Role.OWNER).exclude(pk__in=working.values("pk"))
    only = set(owning.values_list("pk", flat=True))
    rows = moments.rows(Person, moment).filter(is_active=True, erased_at=None).order_by("name")
    return [one for one in rows if one.pk not in only]
