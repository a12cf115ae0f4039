"""What a wording says of a race besides horses and weights: by when, for how much, for how many."""

from dataclasses import dataclass
from datetime import date, time
from typing import Literal

from upsides.placing.amounts import Amount, Money
from upsides.placing.race import Stage


@dataclass(frozen=True, slots=True)
class SaidBy:
    """A moment by which something must be said, by the course's clock, and what it costs."""

    stage: Stage
    day: date
    at: time
    cost: Money | None = None


@dataclass(frozen=True, slots=True)
class Pays:
    """What a place receives; place 0 is all of it."""

    place: int
    money: Money


@dataclass(frozen=True, slots=True)
class Room:
    """The maximum field, with how many reserves besides."""

    most: int
    reserves: int = 0


@dataclass(frozen=True, slots=True)
class IsHandicap:
    """The wording calls the race a handicap."""


@dataclass(frozen=True, slots=True)
class Stake:
    """What entering costs."""

    money: Money


@dataclass(frozen=True, slots=True)
class Fee:
    """What a step costs, where the wording says it apart from its time."""

    stage: Stage
    money: Money


@dataclass(frozen=True, slots=True)
class OfClass:
    """The class of the race: "4", "group 2", "listed"."""

    name: str


@dataclass(frozen=True, slots=True)
class OfKind:
    """Words of `kinds.MARKS_OF_KIND` that the wording calls the race by."""

    kinds: frozenset[str]


@dataclass(frozen=True, slots=True)
class OutFirst:
    """Who goes out of a field that is too large: the lowest weights, the lowest marks, or by ballot."""

    by: Literal["weight", "mark", "ballot"]


@dataclass(frozen=True, slots=True)
class NotPublished:
    """Weight that every horse carries besides the published one: a safety allowance for vests."""

    weight: Amount


@dataclass(frozen=True, slots=True)
class Noted:
    """What the wording says of the race that asks nothing of a horse and sets no weight.

    Attributes:
        what: divided, winner sold, claimed, reserves, weights may rise, course, added money, prizes, fees, surface,
            all ages, kind.
    """

    what: str


@dataclass(frozen=True, slots=True)
class WeightsOut:
    """The day on which the weights are published."""

    day: date


@dataclass(frozen=True, slots=True)
class DaysAhead:
    """So many days before the race a step is said, at the hour of the authority's rule: 48-hour declarations."""

    stage: Stage
    days: int


@dataclass(frozen=True, slots=True)
class Over:
    """The distance of the race, in metres; `about` where the wording says so."""

    metres: float
    about: bool = False


Card = (
    SaidBy
    | Pays
    | Room
    | IsHandicap
    | Stake
    | Fee
    | OfClass
    | OfKind
    | OutFirst
    | NotPublished
    | Noted
    | WeightsOut
    | DaysAhead
    | Over
)
