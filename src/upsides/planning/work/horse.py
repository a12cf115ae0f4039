"""A horse whose work is planned: its races, what it did, what holds it back; and a plan.

Days are counted from the first day that is planned, which is 0; days before it are less than nothing.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import cached_property
from types import MappingProxyType
from typing import Final

from upsides.planning.work.routine import Limit, Routine

DETAIL: Final = 10
"""Days that are planned one by one."""
NOBODY: Final[Mapping[int, str]] = MappingProxyType({})
ALONE: Final[Mapping[int, frozenset[int]]] = MappingProxyType({})
UNMOVED: Final[Mapping[int, int]] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Race:
    """A race that the horse is to run in: its day and its metres."""

    day: int
    metres: float


@dataclass(frozen=True, slots=True)
class Past:
    """A day before the first, of which it is known what the horse did.

    Attributes:
        day: less than nothing.
        fast, rest: whether it counts as fast work, or as rest.
        metres: at each step of speed, from the lowest on; those left out are 0.
        raced_m: metres of its race, 0 for none.
        lesson: whether it had a lesson at the stalls.
    """

    day: int
    fast: bool = False
    rest: bool = False
    metres: tuple[float, ...] = ()
    raced_m: float = 0.0
    lesson: bool = False


@dataclass(frozen=True, slots=True)
class Step:
    """What a vet leaves open, or an authority: from one day to another, both included, nothing but these exercises.

    Attributes:
        first, last: days.
        exercises: words of the diary.
        by: vet, or stand_down.
    """

    first: int
    last: int
    exercises: frozenset[str]
    by: str = "vet"


@dataclass(frozen=True, slots=True)
class Span:
    """Days of one later week in a row that leave the same orders open.

    Attributes:
        first, last: days, both included.
        counts: how many days of each order, by its name, those with none left out.
    """

    first: int
    last: int
    counts: tuple[tuple[str, int], ...] = ()

    def of(self, order: str) -> int:
        """Return how many days of an order."""
        return dict(self.counts).get(order, 0)


@dataclass(frozen=True, slots=True)
class Plan:
    """A plan: the names of orders day by day from day 0 on, then how many of each in the spans after them."""

    days: tuple[str, ...]
    later: tuple[Span, ...] = ()


@dataclass(frozen=True)
class Horse:
    """All that a plan of work is made from.

    Attributes:
        number: which horse.
        first: the date of day 0.
        routine: what it would do if nothing stood against it.
        races: those it is to run in.
        past: what it did, each day once; of days that are not named nothing is known.
        steps: what vets and authorities leave open, in their order.
        limits: exposure that the trainer set.
        gap: hard days from one fast work, or race, to the next; 1 for none.
        rest: days of rest in any seven, as the trainer set it.
        closed: (gallop, day) on which a gallop is shut.
        unridden: days on which nobody can ride it.
        pins: orders by day that were fixed by hand.
        back: days since it came back into work, on day 0; None for long ago.
        lessons: lessons at the stalls that it still needs; 0 where it has learned.
        certificate: whether they must stand before its first race.
        days: how many are planned one by one.
        stands: orders by day of the plan that people know, two days exchanged where one was moved by hand.
        knew: the same as it was told, before anything was moved; none where that is the same.
        moved: days to which an order was moved by hand, each with the day that it came from.
        least: whether as few days as can be change of the plan that stands, before all else; else a change has a price.
        figure, trip_m: its figure in lb and its trip in metres, by which partners are found; None for not known.
        name: what it is called, "" for its number.
        gallops: what gallops that are shut are called, by their numbers.
        partners: whether partners are looked for, as in a string, so that one of either company may work upsides.
        beside: numbers of horses, by day, with which it was ordered by hand to go upsides.
    """

    number: int
    first: date
    routine: Routine
    races: tuple[Race, ...] = ()
    past: tuple[Past, ...] = ()
    steps: tuple[Step, ...] = ()
    limits: tuple[Limit, ...] = ()
    gap: int = 3
    rest: int = 1
    closed: frozenset[tuple[int, int]] = frozenset()
    unridden: frozenset[int] = frozenset()
    pins: Mapping[int, str] = field(default_factory=lambda: NOBODY)
    back: int | None = None
    lessons: int = 0
    certificate: bool = False
    days: int = DETAIL
    stands: Mapping[int, str] = field(default_factory=lambda: NOBODY)
    knew: Mapping[int, str] = field(default_factory=lambda: NOBODY)
    moved: Mapping[int, int] = field(default_factory=lambda: UNMOVED)
    least: bool = False
    figure: float | None = None
    trip_m: float | None = None
    partners: bool = False
    name: str = ""
    gallops: Mapping[int, str] = field(default_factory=lambda: NOBODY)
    beside: Mapping[int, frozenset[int]] = field(default_factory=lambda: ALONE)

    @property
    def called(self) -> str:
        """What sentences call it."""
        return self.name or f"horse {self.number}"

    @property
    def before(self) -> Mapping[int, str]:
        """Orders by day of the plan as it was told last."""
        return self.knew or self.stands

    def moved_to(self, day: int, order: str) -> tuple[int, ...]:
        """Return the days to which an order of a day was moved by hand."""
        return tuple(to for to, from_ in self.moved.items() if from_ == day and self.pins.get(to) == order)

    @cached_property
    def length(self) -> int:
        """Days that are planned in all: those one by one, and on to the last race."""
        return max([self.days, *(race.day + 1 for race in self.races)])

    @cached_property
    def race_on(self) -> Mapping[int, Race]:
        """The race of each day that has one."""
        return {race.day: race for race in self.races}

    @cached_property
    def did(self) -> Mapping[int, Past]:
        """What is known of each day before."""
        return {one.day: one for one in self.past}

    def to_race(self, day: int) -> int | None:
        """Return the days from a day to the next race after it, None for none."""
        return min((race.day - day for race in self.races if race.day > day), default=None)

    def since_race(self, day: int) -> tuple[int, float] | None:
        """Return the days from the last race before a day, and its metres; None for none."""
        ran = [(day - race.day, race.metres) for race in self.races if race.day < day]
        ran += [(day - one.day, one.raced_m) for one in self.past if one.raced_m and one.day < day]
        return min(ran, default=None)


def by_itself(horse: Horse) -> Horse:
    """Return a horse whose work is planned without the string's, so that nobody can be found to go with it.

    It goes upsides where its own routine does, where it was ordered so, and where the plan that stands has it upsides.
    """
    stands = any(horse.routine.orders[name].upsides for name in horse.stands.values() if name in horse.routine.orders)
    return replace(horse, partners=stands)


def moved_on(horse: Horse, by: int, plan: Plan) -> Horse:
    """Return a horse so many days later, a plan that was made for it being the one that stands.

    What it did on the days that have gone, and lessons that it had, are for the caller to add.
    """
    return replace(
        horse,
        first=horse.first + timedelta(days=by),
        races=tuple(replace(race, day=race.day - by) for race in horse.races if race.day >= by),
        past=tuple(replace(one, day=one.day - by) for one in horse.past),
        steps=tuple(replace(step, first=step.first - by, last=step.last - by) for step in horse.steps),
        closed=frozenset((gallop, day - by) for gallop, day in horse.closed),
        unridden=frozenset(day - by for day in horse.unridden),
        pins={day - by: order for day, order in horse.pins.items() if day >= by},
        beside={day - by: others for day, others in horse.beside.items() if day >= by},
        back=None if horse.back is None else horse.back + by,
        stands={day - by: order for day, order in enumerate(plan.days) if day >= by},
        knew={},
        moved={},
    )
