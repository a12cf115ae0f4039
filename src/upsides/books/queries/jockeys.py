"""Who rides: what stands in the way of a jockey on a horse in a race."""

from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum
from pathlib import Path
from typing import Final

from django.db.models import Q

from upsides.books.models import Bond, Decision, Engagement, Horse, Person, Share
from upsides.books.queries import moments
from upsides.books.queries.bonds import binds_in
from upsides.books.queries.entrants import entrants, terms_of
from upsides.books.queries.moments import Moment
from upsides.errors import NoRuleError, NotPublishedError, UpsidesError
from upsides.placing import Race, weigh
from upsides.placing.conditions.weights import RidersClaims
from upsides.placing.race_rules import conditions_of
from upsides.results.identity import plain_name
from upsides.rules import may_claim
from upsides.trade.units import POUND_KG

BETWEEN: Final = timedelta(minutes=20)
"""Less than this between the offs of two races leaves a jockey hardly the time to weigh in and out; our choice."""


class Kind(StrEnum):
    """What stands in the way, or is to be put right."""

    SUSPENDED = "suspended"
    RETAINED = "retained"
    TOO_HEAVY = "too heavy"
    NO_CLAIM = "no claim"
    OTHER_CLAIM = "other claim"
    UNCLAIMED = "unclaimed"
    TAKEN = "taken"
    ELSEWHERE = "elsewhere"
    TOO_CLOSE = "too close"


@dataclass(frozen=True, slots=True)
class Ride:
    """A booking.

    Args:
        rider: the jockey where the books know him.
        jockey: else his name.
        claim_lb: what he claims, pounds.
    """

    rider: Person | None
    jockey: str = ""
    claim_lb: int | None = None

    def is_of(self, said: Decision) -> bool:
        """Return whether another booking is of the same jockey."""
        if self.rider is not None or said.rider_id is not None:
            return self.rider is not None and said.rider_id == self.rider.pk
        return bool(plain_name(self.jockey)) and plain_name(said.jockey) == plain_name(self.jockey)


@dataclass(frozen=True, slots=True)
class Hindrance:
    """One thing that stands in the way of a booking.

    Args:
        kind: what.
        name: who retains him, or which horse he rides already; empty otherwise.
        carries_lb: what the horse would carry under him, pounds; None where it is not asked or not known.
        least_lb: the least weight that he rides at; None likewise.
        claim_lb: what he claims by the books, pounds; None where they have no claim of his, or it is not asked.
        course: the other course at which he is booked; empty otherwise.
        minutes: between the two races, where they are too close; None otherwise.
    """

    kind: Kind
    name: str = ""
    carries_lb: float | None = None
    least_lb: int | None = None
    claim_lb: int | None = None
    course: str = ""
    minutes: int | None = None


def jockeys(moment: Moment) -> list[Person]:
    """Return the people whom the books know as jockeys: with a claim, a least weight, or what binds them."""
    bound = list(moments.rows(Bond, moment).values_list("person", flat=True))
    known = Q(claim_lb__isnull=False) | Q(minimum_lb__isnull=False) | Q(id__in=bound)
    rows = moments.rows(Person, moment).filter(known, is_active=True)
    return sorted((one for one in rows if not one.erased_at), key=lambda one: one.name.casefold())


def jockeys_called(moment: Moment, name: str) -> list[Person]:
    """Return the jockeys of the books whom a typed name means, whatever its capitals and dots."""
    wanted = plain_name(name)
    return [one for one in jockeys(moment) if wanted and plain_name(one.name) == wanted]


def hindrances(folder: Path, moment: Moment, ride: Ride, horse: Horse, race: Race, code: str) -> list[Hindrance]:
    """Return what stands in the way of a jockey on a horse: weight, claim, suspension, retainer, his other rides.

    Of one whom the books do not know only the claim and his other rides for the yard can be told.
    """
    return [
        *(_bound(moment, ride.rider, horse, race) if ride.rider else ()),
        *_claiming(folder, race, ride),
        *(_heavy(folder, moment, ride.rider, horse, race, ride.claim_lb) if ride.rider else ()),
        *_rides_besides(moment, ride, horse, race, code),
    ]


def _bound(moment: Moment, rider: Person, horse: Horse, race: Race) -> list[Hindrance]:
    day = Q(first_day__lte=race.day) & (Q(last_day=None) | Q(last_day__gte=race.day))
    bonds = list(moments.rows(Bond, moment).filter(day, person=rider.pk))
    here = [one for one in bonds if binds_in(one.country, race)]
    shares = moments.rows(Share, moment).filter(day, horse=horse.pk)
    owners = set(shares.values_list("owner", flat=True))
    names = moments.names(Person, moment, (one.owner_id for one in bonds))
    suspended = [Hindrance(Kind.SUSPENDED) for one in here if one.kind == Bond.Kind.SUSPENSION]
    retained = [one for one in here if one.kind == Bond.Kind.RETAINER and one.owner_id not in owners]
    return [*suspended[:1], *(Hindrance(Kind.RETAINED, names.get(one.owner_id, "")) for one in retained)]


def _claiming(folder: Path, race: Race, ride: Ride) -> list[Hindrance]:
    """Return what is wrong with a claim: none may be made, or it is not the one that the books have of the rider."""
    may, claim = _may_claim(folder, race), ride.claim_lb or 0
    if claim and may is False:
        return [Hindrance(Kind.NO_CLAIM)]
    own = ride.rider.claim_lb if ride.rider else None
    if ride.rider and claim and claim != (own or 0):
        return [Hindrance(Kind.OTHER_CLAIM, claim_lb=own)]
    return [Hindrance(Kind.UNCLAIMED, claim_lb=own)] if own and not claim and may else []


def _may_claim(folder: Path, race: Race) -> bool | None:
    """Return whether riders may claim in a race; None where no rule is known."""
    said = [one.may for one in conditions_of(race).values if isinstance(one, RidersClaims)]
    if said:
        return all(said)
    rules = race.rules(terms_of(folder).yard)
    try:
        return bool(may_claim(race.jurisdiction, race.day, race.race_class, race.kinds, overrides=rules).value)
    except NoRuleError:
        return None


def _heavy(
    folder: Path, moment: Moment, rider: Person, horse: Horse, race: Race, claim_lb: int | None
) -> list[Hindrance]:
    if rider.minimum_lb is None:
        return []
    try:
        carried = weigh(entrants(folder, moment, [horse])[horse.pk], race, terms_of(folder))
    except (NotPublishedError, UpsidesError):
        return []
    pounds = carried.published * (1.0 if carried.unit == "lb" else 1.0 / POUND_KG) - (claim_lb or 0)
    heavy = rider.minimum_lb > pounds
    return [Hindrance(Kind.TOO_HEAVY, "", pounds, rider.minimum_lb)] if heavy else []


def _rides_besides(moment: Moment, ride: Ride, horse: Horse, race: Race, code: str) -> list[Hindrance]:
    """Return the other horses of ours that he is booked for that day and that leave no room for this ride."""
    rows = moments.rows(Engagement, moment).filter(day=race.day).exclude(horse=horse.pk, race_code=code)
    there = {one.pk: one for one in rows if one.state != Engagement.State.WITHDRAWN}
    said = Decision.objects.filter(engagement__in=list(there), step=Decision.Step.JOCKEY)
    said = said if moment.at is None else said.filter(recorded_at__lte=moment.at)
    last = {one.engagement_id: one for one in said.order_by("recorded_at", "pk")}
    mine = [there[number] for number, one in last.items() if ride.is_of(one)]
    names = moments.names(Horse, moment, [one.horse_id for one in mine])
    found = (_besides(one, names.get(one.horse_id, ""), race, code) for one in mine)
    return [one for one in found if one is not None]


def _besides(other: Engagement, name: str, race: Race, code: str) -> Hindrance | None:
    if code and other.race_code == code:
        return Hindrance(Kind.TAKEN, name)
    if other.course.casefold() != race.course[:60].casefold():
        return Hindrance(Kind.ELSEWHERE, name, course=other.course)
    if race.off is None or other.off_at is None or abs(race.off - other.off_at) >= BETWEEN:
        return None
    return Hindrance(Kind.TOO_CLOSE, name, minutes=round(abs(race.off - other.off_at).total_seconds() / 60))
