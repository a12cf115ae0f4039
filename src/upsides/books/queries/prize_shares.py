"""What of prize money is the owners', place by place, and each owner's part of it on the day of a race."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from upsides.books.queries.horse import parts
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import Visitor
from upsides.errors import NoRuleError
from upsides.placing import Race
from upsides.rules import Overrides, Split, prize_split


@dataclass(frozen=True, slots=True)
class OwnersPart:
    """One owner's part.

    Args:
        name: of the owner.
        part: of the horse on the day of the race.
        amount: of what the race is expected to bring the owners; None where that is not known.
    """

    name: str
    part: Fraction
    amount: float | None


def has_black_type(race: Race) -> bool:
    """Return whether a place among the first three of a race is black type: a group or a listed race."""
    return race.race_class.startswith("group") or race.race_class == "listed"


def splits(race: Race, places: int, rules: Overrides) -> list[Split]:
    """Return who has what of each place's prize; nothing where no rule is known."""
    try:
        return [
            prize_split(race.jurisdiction, race.day, place, pattern=has_black_type(race), overrides=rules)
            for place in range(1, places + 1)
        ]
    except NoRuleError:
        return []


def owners_prizes(race: Race, prizes: Sequence[float], rules: Overrides) -> list[float]:
    """Return the owners' part of each place's prize; all of it where no rule is known."""
    found = splits(race, len(prizes), rules)
    return [prize * one.owner for prize, one in zip(prizes, found, strict=True)] if found else list(prizes)


def owners_parts(who: Visitor, moment: Moment, horse: int, race: Race, net: float | None) -> list[OwnersPart]:
    """Return the owners of a horse on the day of a race, each with what the race is expected to bring him.

    Args:
        who: to whom it is told; one to whom shares are not open is told his own alone.
        moment: when to look from.
        horse: number of the horse.
        race: the race.
        net: what it is expected to bring all owners, after shares and fees.
    """
    found = []
    for one in parts(who, moment, horse, race.day):
        part = Fraction(one.share.numerator, one.share.denominator)
        found.append(OwnersPart(one.owner, part, None if net is None else float(part) * net))
    return found
