"""Who rides: what stands in the way of a jockey on a horse in a race."""

from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from django.db.models import Q

from upsides.books.models import Bond, Decision, Engagement, Horse, Person, Share
from upsides.books.queries import moments
from upsides.books.queries.entrants import entrants, terms_of
from upsides.books.queries.moments import Moment
from upsides.errors import NoRuleError, NotPublishedError, UpsidesError
from upsides.placing import Race, weigh
from upsides.placing.conditions.weights import RidersClaims
from upsides.placing.race_rules import conditions_of
from upsides.rules import may_claim
from upsides.trade.units import POUND_KG


class Kind(StrEnum):
    """What stands in the way."""

    SUSPENDED = "suspended"
    RETAINED = "retained"
    TOO_HEAVY = "too heavy"
    NO_CLAIM = "no claim"
    TAKEN = "taken"


@dataclass(frozen=True, slots=True)
class Hindrance:
    """One thing that stands in the way of a booking.

    Args:
        kind: what.
        name: who retains him, or which horse he rides already; empty otherwise.
        carries_lb: what the horse would carry under him, pounds; None where it is not asked or not known.
        least_lb: the least weight that he rides at; None likewise.
    """

    kind: Kind
    name: str = ""
    carries_lb: float | None = None
    least_lb: int | None = None


def jockeys(moment: Moment) -> list[Person]:
    """Return the people whom the books know as jockeys: with a claim or a least weight written down."""
    rows = moments.rows(Person, moment).filter(Q(claim_lb__isnull=False) | Q(minimum_lb__isnull=False), is_active=True)
    return sorted((one for one in rows if not one.erased_at), key=lambda one: one.name.casefold())


def hindrances(
    folder: Path, moment: Moment, rider: Person, horse: Horse, race: Race, code: str, claim_lb: int | None
) -> list[Hindrance]:
    """Return what stands in the way of a jockey on a horse in a race: weight, claim, suspension, retainer, another."""
    return [
        *_bound(moment, rider, horse, race),
        *_claiming(folder, race, claim_lb),
        *_heavy(folder, moment, rider, horse, race, claim_lb),
        *_taken(moment, rider, horse, code),
    ]


def _bound(moment: Moment, rider: Person, horse: Horse, race: Race) -> list[Hindrance]:
    day = Q(first_day__lte=race.day) & (Q(last_day=None) | Q(last_day__gte=race.day))
    bonds = list(moments.rows(Bond, moment).filter(day, person=rider.pk))
    here = [one for one in bonds if not one.country or one.country == race.jurisdiction]
    shares = moments.rows(Share, moment).filter(day, horse=horse.pk)
    owners = set(shares.values_list("owner", flat=True))
    names = moments.names(Person, moment, (one.owner_id for one in bonds))
    suspended = [Hindrance(Kind.SUSPENDED) for one in here if one.kind == Bond.Kind.SUSPENSION]
    retained = [one for one in bonds if one.kind == Bond.Kind.RETAINER and one.owner_id not in owners]
    return [*suspended[:1], *(Hindrance(Kind.RETAINED, names.get(one.owner_id, "")) for one in retained)]


def _claiming(folder: Path, race: Race, claim_lb: int | None) -> list[Hindrance]:
    if not claim_lb:
        return []
    said = [one.may for one in conditions_of(race).values if isinstance(one, RidersClaims)]
    if said:
        return [] if all(said) else [Hindrance(Kind.NO_CLAIM)]
    rules = race.rules(terms_of(folder).yard)
    try:
        ruled = may_claim(race.jurisdiction, race.day, race.race_class, race.kinds, overrides=rules)
    except NoRuleError:
        return []
    return [] if ruled.value else [Hindrance(Kind.NO_CLAIM)]


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


def _taken(moment: Moment, rider: Person, horse: Horse, code: str) -> list[Hindrance]:
    """Return the other horses of ours that he is booked for in the race, by the last booking of each."""
    rows = moments.rows(Engagement, moment).filter(race_code=code).exclude(horse=horse.pk)
    numbers = {one.pk: one.horse_id for one in rows}
    said = Decision.objects.filter(engagement__in=list(numbers), step=Decision.Step.JOCKEY)
    said = said if moment.at is None else said.filter(recorded_at__lte=moment.at)
    last = {one.engagement_id: one.rider_id for one in said.order_by("recorded_at", "pk")}
    mine = [numbers[engagement] for engagement, person in last.items() if person == rider.pk]
    names = moments.names(Horse, moment, mine)
    return [Hindrance(Kind.TAKEN, names.get(number, "")) for number in mine]
