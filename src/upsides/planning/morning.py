"""A morning as values: horses, riders, lots, gallops, what is fixed by hand, and a plan of it.

Times are minutes after midnight, weights kg. Numbers name horses, riders, lots and gallops, each among its own kind.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from math import inf
from typing import Final

from upsides.errors.wording import gettext as _

ALL_DAY: Final = ((0, 1440),)
SEXES: Final = ("colt", "filly", "gelding")


@dataclass(frozen=True, slots=True)
class Horse:
    """A horse that is to be ridden.

    Attributes:
        number: which.
        exercise: what it does, in the yard's word.
        gallop: where, None for nowhere that fills up.
        partners: numbers of the horses that it works with; said by one of them is said by both.
        asks: the least skill that its cautions ask for, 0 for none.
        carries_kg: the heaviest rider that it carries.
        sex: of `SEXES`; mares count as fillies.
        apart: whether it must not go out with the other sex: a colt with fillies, a filly with colts.
        order: its place in the order of the barns.
        usual: number of its usual rider, None for none.
        awkward: points for how awkward a ride it is, 0 for not at all.
        saddle: which saddle it takes, any word.
        walker: whether it may stay on the walker where nobody can ride it.
        not_with: numbers of horses that never go in one lot with it; said by one of them is said by both, and those
            that are not there this morning are passed over.
        not_by: numbers of riders who do not ride it.
        name: what it is called, "" for its number.
    """

    number: int
    exercise: str = ""
    gallop: int | None = None
    partners: tuple[int, ...] = ()
    asks: int = 0
    carries_kg: float = inf
    sex: str = "gelding"
    apart: bool = False
    order: int = 0
    usual: int | None = None
    awkward: int = 0
    saddle: str = ""
    walker: bool = False
    not_with: tuple[int, ...] = ()
    not_by: frozenset[int] = frozenset()
    name: str = ""

    @property
    def called(self) -> str:
        """What sentences call it."""
        return self.name or _("horse {number}", number=self.number)


@dataclass(frozen=True, slots=True)
class Rider:
    """Somebody who rides work.

    Attributes:
        number: which.
        weight_kg: with tack as the limits mean it; None for not known: then only horses without a limit.
        skill: on the scale of `Horse.asks`; 0 for not said: then only horses that ask for none.
        hours: from and to, minutes after midnight; a lot must lie within one of them.
        lots: numbers of the lots that may be ridden, None for all within the hours.
        young: whether under eighteen.
        most: the most lots.
        barred: numbers of the lots that hours of work and rest laid down by law keep it from.
        name: what it is called, "" for its number.
    """

    number: int
    weight_kg: float | None = None
    skill: int = 0
    hours: tuple[tuple[int, int], ...] = ALL_DAY
    lots: frozenset[int] | None = None
    young: bool = False
    most: int = 9
    barred: frozenset[int] = frozenset()
    name: str = ""

    @property
    def called(self) -> str:
        """What sentences call it."""
        return self.name or _("rider {number}", number=self.number)


@dataclass(frozen=True, slots=True)
class Lot:
    """A lot: when it pulls out and is back, and the most horses in it."""

    number: int
    starts: int
    ends: int
    most: int

    def out_with(self, other: "Lot") -> bool:
        """Return whether it is out when another pulls out; every lot is so when it pulls out itself."""
        return self.starts <= other.starts < self.ends


@dataclass(frozen=True, slots=True)
class Gallop:
    """A gallop, the most horses on it in one lot, and what it is called, "" for its number."""

    number: int
    most: int
    name: str = ""

    @property
    def called(self) -> str:
        """What sentences call it."""
        return self.name or _("gallop {number}", number=self.number)


@dataclass(frozen=True, slots=True)
class Young:
    """Limits of riders under eighteen.

    Attributes:
        lots: the most lots.
        asks: the most skill that a horse's cautions may ask for.
        earliest: no lot pulls out with them before this minute.
        exercises: what they do not ride.
    """

    lots: int
    asks: int
    earliest: int
    exercises: frozenset[str]


@dataclass(frozen=True, slots=True)
class Pin:
    """What is fixed by hand of a horse: its lot, its rider or both."""

    horse: int
    lot: int | None = None
    rider: int | None = None


@dataclass(frozen=True, slots=True)
class Ride:
    """One horse's part in a plan; lot, rider and place are None for one that stays on the walker.

    Attributes:
        horse, lot, rider: numbers.
        place: place in the string of the lot, from 1.
    """

    horse: int
    lot: int | None = None
    rider: int | None = None
    place: int | None = None


@dataclass(frozen=True, slots=True)
class Plan:
    """Rides of a morning, by lot and place, those on the walker last."""

    rides: tuple[Ride, ...] = ()

    def of_horse(self) -> Mapping[int, Ride]:
        """Return the ride of each horse."""
        return {ride.horse: ride for ride in self.rides}


@dataclass(frozen=True)
class Morning:
    """All that a plan of lots is made from.

    Attributes:
        horses: those to be ridden; horses that are not to be ridden are left out.
        riders, lots, gallops: lots in the order in which they go out.
        young: limits of riders under eighteen.
        pins: what is fixed by hand.
        stands: the plan that people know, None for none; departing from it has a price.
    """

    horses: tuple[Horse, ...]
    riders: tuple[Rider, ...]
    lots: tuple[Lot, ...]
    gallops: tuple[Gallop, ...]
    young: Young
    pins: tuple[Pin, ...] = ()
    stands: Plan | None = None

    @cached_property
    def pairs(self) -> tuple[tuple[int, int], ...]:
        """Numbers of horses that work together, the lower first, each pair once."""
        found = {(min(h.number, k), max(h.number, k)) for h in self.horses for k in h.partners}
        return tuple(sorted(found))

    @cached_property
    def foes(self) -> tuple[tuple[int, int], ...]:
        """Numbers of horses of this morning that never go in one lot, the lower first, each pair once."""
        here = {h.number for h in self.horses}
        found = {(min(h.number, k), max(h.number, k)) for h in self.horses for k in h.not_with if k in here}
        return tuple(sorted(found))
