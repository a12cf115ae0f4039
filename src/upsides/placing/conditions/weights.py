"""What a horse carries by the conditions of a race: each sentence about weight as a value."""

from dataclasses import dataclass

from upsides.placing.amounts import Amount, Money
from upsides.placing.conditions.origins import Foaled
from upsides.placing.conditions.who import Record
from upsides.placing.race import Build
from upsides.trade.age import AgeRange


@dataclass(frozen=True, slots=True)
class Carries:
    """A weight from which all else is counted, of all horses or of some ages and sexes."""

    weight: Amount
    ages: AgeRange | None = None
    builds: frozenset[Build] | None = None


@dataclass(frozen=True, slots=True)
class ForAge:
    """Weight for age: by the scale of the place."""


@dataclass(frozen=True, slots=True)
class ForSex:
    """The usual allowance for fillies and mares: as much as the rules of the place give."""


@dataclass(frozen=True, slots=True)
class TopWeight:
    """What the highest mark carries in a handicap; `at_least` where the weights may be raised above it."""

    weight: Amount
    at_least: bool = False


@dataclass(frozen=True, slots=True)
class LeastWeight:
    """The weight below which none is set."""

    weight: Amount


@dataclass(frozen=True, slots=True)
class WeightsMoved:
    """All weights raised by so much, or lowered where it is below nought."""

    by: Amount


@dataclass(frozen=True, slots=True)
class Allowed:
    """So much off for horses of some ages and sexes, or with a record of a kind.

    Attributes:
        off: how much.
        ages, builds, record: for which horses; None where that does not narrow them.
        sire_price: for horses by sires whose median price is so much or less.
        foaled: for horses foaled between some days.
    """

    off: Amount
    ages: AgeRange | None = None
    builds: frozenset[Build] | None = None
    record: Record | None = None
    sire_price: Money | None = None
    foaled: Foaled | None = None


@dataclass(frozen=True, slots=True)
class Penalty:
    """So much on for a record of a kind.

    Attributes:
        on: how much.
        record: of which horses.
        each: whether it is for every such race, not once.
        ages: for horses of some ages only.
    """

    on: Amount
    record: Record
    each: bool = False
    ages: AgeRange | None = None


@dataclass(frozen=True, slots=True)
class MostPenalty:
    """The most that penalties may come to."""

    weight: Amount


@dataclass(frozen=True, slots=True)
class AddUp:
    """Penalties, or allowances for a record, add up; without it the greatest one counts."""

    what: str


@dataclass(frozen=True, slots=True)
class RidersClaims:
    """Whether riders' allowances may be claimed."""

    may: bool


Weighing = (
    Carries
    | ForAge
    | ForSex
    | TopWeight
    | LeastWeight
    | WeightsMoved
    | Allowed
    | Penalty
    | MostPenalty
    | AddUp
    | RidersClaims
)
