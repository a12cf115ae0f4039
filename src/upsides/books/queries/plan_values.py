"""The string's plans as values: a day, a week, another plan to choose, a horse's plan, all of a string."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Final

from upsides.books.diary.work import Ordered
from upsides.books.models import Horse
from upsides.planning.rule import Clash
from upsides.planning.work.outside import TOLD_F
from upsides.planning.work.said import Said


@dataclass(frozen=True, slots=True)
class PlannedDay:
    """A day of a plan.

    Args:
        day: which.
        title: the order, as the routine calls it.
        exercise: the diary's word for it.
        furlongs: how far at its pace; None for as far as usual.
        routine: what the routine calls the order that it would have; empty where it is the same.
        beside: names of those that it works upsides with.
    """

    day: date
    title: str
    exercise: str
    furlongs: float | None
    routine: str
    beside: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PlannedWeek:
    """A week of a plan.

    Args:
        first, last: its days.
        fast_f, canter_f: furlongs of fast work and at the canter.
        metres: by step of speed.
        fast_span, canter_span: furlongs from and to, by the routine; None where an earlier version did not keep them.
    """

    first: date
    last: date
    fast_f: float
    canter_f: float
    metres: tuple[float, ...]
    fast_span: tuple[float, float] | None = None
    canter_span: tuple[float, float] | None = None

    @property
    def outside(self) -> bool:
        """Whether it has more or less than its routine, as far as that can be seen in a number."""
        both = ((self.fast_f, self.fast_span), (self.canter_f, self.canter_span))
        return any(span is not None and not span[0] - TOLD_F < furlongs < span[1] + TOLD_F for furlongs, span in both)


@dataclass(frozen=True, slots=True)
class OrderShown:
    """An order as the routine calls it, and its parts: metres, metres a second, metres of rise, on what."""

    title: str
    parts: tuple[tuple[float, float, float, str], ...]


@dataclass(frozen=True, slots=True)
class OtherPlan:
    """Another plan of a horse, to be chosen instead.

    Args:
        place: 0 for the next best, and so on.
        days: those not yet past.
        off: those on which it differs from the plan, each with the plan's own order.
        says: the reasons of those that depart from the routine.
        later: what comes after the days; empty where it is as in the plan.
        more: steps by which it departs more.
        changes: days that it changes more of the plan before; 0 where an earlier version did not keep them.
        leaves: days on which it breaks with a partner, and the partner's name.
        proven: whether none of its kind departs less; not where its search was stopped.
    """

    place: int
    days: tuple[PlannedDay, ...]
    off: tuple[tuple[PlannedDay, str], ...]
    says: tuple[Said, ...]
    later: tuple[Said, ...]
    more: float
    leaves: tuple[tuple[date, str], ...]
    proven: bool = True
    changes: int = 0


NO_CLASH: Final[Clash[Said]] = Clash()


@dataclass(frozen=True, slots=True)
class Planned:
    """One horse's plan.

    Args:
        horse: its row.
        kind: of the routine; empty where it has no plan.
        days: those not yet past, one by one.
        weeks: all of them, up to its races.
        later: what comes after the days.
        says: each departure from the routine with its reason, and what to mind.
        stages: of the routine on the way, with who says so.
        races: days and metres.
        departs: steps by which it departs from the routine; None where an earlier version kept them with the next.
        changed: steps by which it departs from the plan that stood.
        rules: where it has no plan, which of its rules clash.
        others: the next best plans; none where they were not looked for, or a day on which they differ is past.
        changes: what is other than in the plan before, and why, of days not yet past.
        orders: what each order of its plans is; none where an earlier version did not keep their parts.
        before_moves: whether days were moved by hand since, so that all but the days is of the plan before that.
    """

    horse: Horse
    kind: str = ""
    days: tuple[PlannedDay, ...] = ()
    weeks: tuple[PlannedWeek, ...] = ()
    later: tuple[Said, ...] = ()
    says: tuple[Said, ...] = ()
    stages: tuple[Said, ...] = ()
    races: tuple[tuple[date, float], ...] = ()
    departs: float | None = None
    changed: float = 0.0
    rules: Clash[Said] = NO_CLASH
    others: tuple[OtherPlan, ...] = ()
    changes: tuple[Said, ...] = ()
    before_moves: bool = False
    orders: tuple[OrderShown, ...] = ()


@dataclass(frozen=True, slots=True)
class Proof:
    """How good the plan of a string is.

    Args:
        proven: whether no plan of the string comes to less.
        gap: steps by which it may be above the cheapest.
        kept_to: whether plans before were kept to, as few of their days changed as can be.
        departs: steps by which all depart from their routines; None where an earlier version did not keep them.
        changed: steps by which all depart from the plans that stood.
        bound: no plan that changes no more days comes to less, in steps of both together.
    """

    proven: bool = True
    gap: float = 0.0
    kept_to: bool = False
    departs: float | None = None
    changed: float = 0.0
    bound: float = 0.0


@dataclass(frozen=True, slots=True)
class HorsePlan:
    """A horse's plan as somebody may see it.

    Args:
        horse: its row.
        open: whether plans of it are open to the visitor.
        made: when the string's plan was worked out; None where it was not, or nothing is open.
        proof: how good the string's plan is.
        planned: the plan; None where the horse is in none.
        number: of the answer that it stands in.
        otherwise: orders that say something else than the plan has for their day.
        moved: orders that were moved by hand, by the day that they are for.
        gone: days whose work was moved away by hand since the plan was made, each with the day that it went to.
    """

    horse: Horse
    open: bool
    made: datetime | None = None
    proof: Proof = Proof()
    planned: Planned | None = None
    number: int = 0
    otherwise: Mapping[date, Ordered] = field(default_factory=dict)
    moved: Mapping[date, Ordered] = field(default_factory=dict)
    gone: Mapping[date, date] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class StringPlan:
    """The plans of a string that are open to a visitor, by name; `made` and `proof` as of `HorsePlan`.

    `tight` are the limits of mornings that stand in the routine's way: day, kind (workers, riders, slots), the gallop's
    name (empty for others), the most horses, and of how many the routine asks it. `beyond` are those that orders by
    hand go beyond, with how many horses the morning has.
    """

    made: datetime | None
    proof: Proof
    days: tuple[date, ...]
    horses: tuple[Planned, ...]
    tight: tuple[tuple[date, str, str, int, int], ...] = ()
    beyond: tuple[tuple[date, str, str, int, int], ...] = ()

    @property
    def changes(self) -> tuple[int, int]:
        """Of how many days the plans of how many of these horses are other than the ones before."""
        each = [len(one.changes) for one in self.horses if one.changes]
        return sum(each), len(each)
