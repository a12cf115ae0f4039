"""Our routine: what work a kind of horse gets, stage by stage, and what departing from it costs."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from math import inf
from types import MappingProxyType
from typing import Final

from upsides.errors import WorkRefusedError
from upsides.errors.wording import gettext as _
from upsides.planning.summed import Summed
from upsides.planning.work.orders import Order, Orders


@dataclass(frozen=True, slots=True)
class Parts(Summed):
    """A number for each departure: its price in steps, how much of it there is, or what that comes to.

    Attributes:
        easier, harder: steps of effort by which days' orders are easier, and harder, than the routine's.
        swapped: days with another order of the same effort, but for the next.
        alone: days with work alone where the routine goes upsides, or upsides where it goes alone.
        rested: days of rest on which the routine has work.
        weeks: days of later weeks with another order.
        fast_short, fast_over: furlongs of fast work below and above the weeks of the routine.
        canter_short, canter_over: furlongs at the canter, likewise.
        late: days by which fast works are nearer to a race than the routine's last.
        stale: races without fast work in the days before in which the routine has some.
        lessons_short, lessons_over: lessons at the stalls fewer and more than the weeks of the routine have.
        change: days with another order than in the plan that stands.
    """

    easier: float = 0.0
    harder: float = 0.0
    swapped: float = 0.0
    alone: float = 0.0
    rested: float = 0.0
    weeks: float = 0.0
    fast_short: float = 0.0
    fast_over: float = 0.0
    canter_short: float = 0.0
    canter_over: float = 0.0
    late: float = 0.0
    stale: float = 0.0
    lessons_short: float = 0.0
    lessons_over: float = 0.0
    change: float = 0.0


PARTS: Final = tuple(one.name for one in fields(Parts))


@dataclass(frozen=True, slots=True)
class Stage:
    """A stage on the way to a race.

    Attributes:
        name: what it is called.
        within: it holds while the next race is so many days away at most, None for any.
        back: it holds while the horse has been back in work for so many days at most, None for any.
        week: the order of each day from Monday on, by name or by part of `Routine.parts`.
        fast, canter: furlongs a week, from and to.
        source: who says so.
        others: weeks with other work mornings, over which a string is spread.
    """

    name: str
    within: int | None
    back: int | None
    week: tuple[str, ...]
    fast: tuple[float, float]
    canter: tuple[float, float]
    source: str
    others: tuple[tuple[str, ...], ...] = ()

    def turned(self, mornings: int) -> "Stage":
        """Return the stage with its first week, or one of the others as its week, by turns."""
        weeks = (self.week, *self.others)
        return replace(self, week=weeks[mornings % len(weeks)], others=())


@dataclass(frozen=True, slots=True)
class Routine:
    """The routine of a kind of horse.

    Attributes:
        kind: its name.
        orders: every order that the yard gives, by name.
        parts: names of the orders for quiet, easy, work and second.
        company: of fast work: upsides, alone and never upsides, or either, which is alone where nobody suits.
        spacing: days from one fast work to the next at the least.
        last_fast: days from the last fast work to a race at the least.
        sharp: a race wants fast work in so many days before it.
        most_works: fast works a week at the most.
        before, after: names of orders of the days before and after a race, the nearest first.
        stages: the first that holds counts, the last holds always.
        recovery: days without fast work after a race up to so many metres, rising.
    """

    kind: str
    orders: Orders
    parts: Mapping[str, str]
    company: str
    spacing: int
    last_fast: int
    sharp: int
    most_works: int
    before: tuple[str, ...]
    after: tuple[str, ...]
    stages: tuple[Stage, ...]
    recovery: tuple[tuple[float, int], ...]

    def order(self, word: str) -> Order:
        """Return the order that a word of a week stands for: a name, or a part; fast ones in the company asked for.

        Raises:
            WorkRefusedError: there is no such order.
        """
        if word == "lesson":
            return next(one for one in self.orders.values() if one.lesson)
        name = self.parts.get(word, word)
        if name not in self.orders:
            raise WorkRefusedError(
                _("order of {kind}", kind=self.kind), name, _("there is no such order"), _("name one of the orders")
            )
        found = self.orders[name]
        if self.company == "upsides" and found.fast and not found.upsides:
            beside = (one for one in self.orders.values() if one.like == found.name and one.upsides)
            return next(beside, found)
        return found

    def recovers(self, metres: float) -> int:
        """Return the days without fast work after a race over so many metres."""
        return next((days for most, days in self.recovery if metres <= most), 0)

    def stage(self, to_race: float = inf, back: float = inf) -> Stage:
        """Return the stage of a day.

        Args:
            to_race: days to the next race, infinite for none.
            back: days since the horse came back into work, infinite for long ago.
        """
        held = (
            one
            for one in self.stages
            if (one.within is None or to_race <= one.within) and (one.back is None or back <= one.back)
        )
        return next(held, self.stages[-1])


@dataclass(frozen=True, slots=True)
class Limit:
    """Exposure that the trainer set: no more metres from a speed on in any so many days."""

    from_ms: float
    days: int
    metres: float


@dataclass(frozen=True, slots=True)
class Trainer:
    """The hard limits that a trainer sets: gap, rest and limits as of `upsides.planning.work.horse.Horse`."""

    gap: int = 3
    rest: int = 1
    limits: tuple[Limit, ...] = ()


@dataclass(frozen=True, slots=True)
class Mornings:
    """What a morning takes where the books do not say: the share of the string in fast work; horses that one rides.

    With `spread` horses of which nothing is said are spread over the weeks of their stage.
    """

    fast_share: float = 1.0
    rides_each: int = 9
    spread: bool = True


@dataclass(frozen=True, slots=True)
class OfHorse:
    """What a yard's file says of a horse.

    Attributes:
        kind: of the routine, "" for not said.
        natures: laid over it.
        trainer: what the trainer set for it; None for what holds for all.
        mornings: which of the weeks of its stage it has, 0 for the first; None for not said.
    """

    kind: str = ""
    natures: tuple[str, ...] = ()
    trainer: Trainer | None = None
    mornings: int | None = None


NOT_SAID: Final = OfHorse()
NO_BARNS: Final[Mapping[str, int]] = MappingProxyType({})
NO_HORSES: Final[Mapping[str, OfHorse]] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Settings:
    """All that a yard's file says.

    Attributes:
        orders: by name.
        prices: in steps.
        kinds: routines by kind.
        natures: what a nature lays over a kind: its company and most works.
        trainer: what the trainer set for all horses.
        mornings: what a morning takes.
        horses: what is said of single horses, by name.
        barns: which of the weeks of their stages horses of a barn have, by its name.
    """

    orders: Orders
    prices: Parts
    kinds: Mapping[str, Routine]
    natures: Mapping[str, Mapping[str, str | int]]
    trainer: Trainer = Trainer()
    mornings: Mornings = Mornings()
    horses: Mapping[str, OfHorse] = field(default_factory=lambda: NO_HORSES)
    barns: Mapping[str, int] = field(default_factory=lambda: NO_BARNS)

    def mornings_of(self, name: str, barn: str, turn: int) -> int:
        """Return which of the weeks of its stage a horse has: as the file says of it or its barn, else by its turn."""
        said = self.horses.get(name, NOT_SAID).mornings
        said = self.barns.get(barn) if said is None else said
        return (turn if self.mornings.spread else 0) if said is None else said

    def set_for(self, name: str) -> Trainer:
        """Return what the trainer set for a horse of that name: its own, or what holds for all."""
        return self.horses.get(name, NOT_SAID).trainer or self.trainer

    def routine(self, kind: str, natures: Sequence[str] = (), mornings: int = 0) -> Routine:
        """Return the routine of a kind with natures laid over it.

        Args:
            kind: its name.
            natures: their names.
            mornings: which of the weeks of a stage that has several, 0 for the first.

        Raises:
            WorkRefusedError: there is no such kind or nature.
        """
        if kind not in self.kinds:
            raise WorkRefusedError(
                _("kind of horse"), kind, _("there is no routine for it"), _("say {kinds}", kinds=", ".join(self.kinds))
            )
        found = self.kinds[kind]
        found = replace(found, stages=tuple(one.turned(mornings) for one in found.stages))
        for nature in natures:
            if nature not in self.natures:
                raise WorkRefusedError(
                    _("nature"),
                    nature,
                    _("the routine does not know it"),
                    _("say {natures}", natures=", ".join(self.natures)),
                )
            laid = self.natures[nature]
            found = replace(
                found,
                kind=f"{found.kind}, {nature}",
                company=str(laid.get("company", found.company)),
                most_works=min(found.most_works, int(laid.get("most_works", found.most_works))),
            )
        return found
