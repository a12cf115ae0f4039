"""What a wording says of a race besides horses and weights: by when, for how much, for how many."""

from dataclasses import dataclass
from datetime import date, time

from upsides.placing.amounts import Money
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
class Over:
    """The distance of the race, in metres; `about` where the wording says so."""

    metres: float
    about: bool = False


Card = SaidBy | Pays | Room | IsHandicap | Stake | Over
