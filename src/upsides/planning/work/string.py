"""The work of a whole string at once: every horse's part of the program, and the rows that they share."""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from itertools import combinations

import numpy as np

from upsides.errors import StoppedEarlyError, WorkRefusedError
from upsides.errors.wording import gettext as _
from upsides.planning.clashing import clashes
from upsides.planning.program import Floats, Ints, Program
from upsides.planning.rule import Clash, Rule
from upsides.planning.solving import Watch
from upsides.planning.work.checking import check
from upsides.planning.work.first import first_plans
from upsides.planning.work.horse import Horse, Plan
from upsides.planning.work.least import solve_least
from upsides.planning.work.model import Columns, add_horse
from upsides.planning.work.naming import said_rule, said_shared
from upsides.planning.work.plans import CLOSE, clash, clash_error, feasible
from upsides.planning.work.routine import Parts
from upsides.planning.work.rules import rules_of, without_rules
from upsides.planning.work.said import Said, plain
from upsides.planning.work.shared import SHARED, Pair, Shared, shared_rules, without_shared
from upsides.planning.work.verifying import Verdict, verify


@dataclass(frozen=True, slots=True)
class StringWork:
    """The work of a string.

    Attributes:
        horses, plans: whose, and what, in one order.
        verdicts: of each by itself.
        pairs: who works upsides with whom.
        cost: steps by which all depart from their routines.
        bound: no plan of the string that changes no more days of the plans that stand costs less.
        shared: what they share, as the plan keeps it.
        least: no plan changes fewer days of those horses whose plans stand.
        soon: whether the search was stopped before it had a plan, so that this one was made horse after horse.
    """

    horses: tuple[Horse, ...]
    plans: tuple[Plan, ...]
    verdicts: tuple[Verdict, ...]
    pairs: tuple[Pair, ...]
    cost: float
    bound: float
    shared: Shared = field(default_factory=Shared)
    least: int = 0
    soon: bool = False

    @property
    def changes(self) -> int:
        """Days of the plans that stand that it changes, of those horses of which as few as can be change."""
        both = zip(self.horses, self.verdicts, strict=True)
        return round(sum(one.amounts.change for horse, one in both if horse.least))

    @property
    def gap(self) -> float:
        """Steps by which the plan may be above the cheapest there is."""
        return max(self.cost - self.bound, 0.0)

    @property
    def proven(self) -> bool:
        """Whether no plan changes fewer days of those that stand, and none that changes as few costs less."""
        return self.changes <= self.least and self.gap <= CLOSE


def plan_string(
    horses: Sequence[Horse], shared: Shared, prices: Parts, *, seed: int = 0, watch: Watch | None = None
) -> StringWork:
    """Return the plan of a string that departs least from the routines of its horses together.

    Of horses whose plans stand (`Horse.least`) as few days as can be change, before that.

    Args:
        horses: all with one first day, and as many days one by one.
        shared: what they share.
        prices: of departures, in steps.
        seed: of the solver.
        watch: who is told, and who may stop it; a stop keeps the best plan, with its bound.

    Raises:
        WorkRefusedError: a horse cannot be right, or they do not begin on one day.
        WorkClashError: no plan keeps all rules; it names some that clash.
        StoppedEarlyError: it was stopped before there was a plan.
    """
    found = any_plan(horses, shared, prices, seed=seed, watch=watch)
    if found is None:
        at_fault = clash_of_string(horses, shared, seed=seed, watch=watch)
        raise clash_error(at_fault, lambda rule: plain(_said(horses, shared, rule)))
    return found


def any_plan(
    horses: Sequence[Horse], shared: Shared, prices: Parts, *, seed: int = 0, watch: Watch | None = None
) -> StringWork | None:
    """Return what `plan_string` does; None where no plan keeps all rules, without looking for those that clash."""
    _check(horses)
    if not horses:
        return StringWork((), (), (), (), 0.0, 0.0, shared)
    made = made_string(horses, shared, prices)
    standing = [one for one in made.columns if one.horse.least]
    held = solve_least(made.program, standing, seed=seed, watch=watch)
    found = held.solved
    if not found.feasible:
        return None
    if found.values is None:
        first = first_plans(horses, shared, prices, seed=seed)
        if first is None:
            raise StoppedEarlyError
        plans, chosen = first, shared.together
    else:
        plans = tuple(one.plan(found.values) for one in made.columns)
        chosen = shared.together.union(made.chosen(found.values))
    verdicts = tuple(verify(horse, plan, prices) for horse, plan in zip(horses, plans, strict=True))
    cost = sum(one.costs.total for one in verdicts)
    pairs = tuple(sorted(chosen))
    bound, soon = max(found.bound, 0.0), found.values is None
    return StringWork(tuple(horses), plans, verdicts, pairs, cost, bound, shared, held.bound, soon)


def clash_of_string(
    horses: Sequence[Horse], shared: Shared, *, seed: int = 0, watch: Watch | None = None
) -> Clash[Rule]:
    """Return which rules no plan of a string keeps together.

    Where a horse has no plan even by itself its own rules are told.

    Raises:
        StoppedEarlyError: it was stopped before that was known.
    """
    for horse in horses:
        if alone := clash(horse, seed=seed, watch=watch):
            return alone
    rules = [*shared_rules(shared, horses), *(rule for horse in horses for rule in rules_of(horse))]

    def holds(kept: Sequence[Rule]) -> bool:
        up = set(rules) - set(kept)
        left = [without_rules(horse, [rule for rule in up if rule.kind not in SHARED]) for horse in horses]
        return feasible(made_string(left, without_shared(shared, up), Parts()).program, seed, watch)

    return clashes(rules, holds, rules[::-1])


def _said(horses: Sequence[Horse], shared: Shared, rule: Rule) -> Said:
    of_all = rule.kind in SHARED and rule.kind != "partners"
    own = next(horse for horse in horses if of_all or horse.number == rule.of[0])
    return said_shared(own, shared, rule)


def clashing(horses: Sequence[Horse], *, seed: int = 0, watch: Watch | None = None) -> Mapping[int, Clash[Said]]:
    """Return of each horse that has no plan even by itself, by its number, which of its rules clash.

    Raises:
        StoppedEarlyError: it was stopped before that was known.
    """
    found = {}
    for horse in horses:
        if rules := clash(horse, seed=seed, watch=watch):
            found[horse.number] = rules.told(partial(said_rule, horse))
    return found


def _check(horses: Sequence[Horse]) -> None:
    for horse in horses:
        check(horse)
        if (horse.first, horse.days) != (horses[0].first, horses[0].days):
            raise WorkRefusedError(
                _("first day of {horse}", horse=horse.called),
                horse.first,
                _("others begin on another day"),
                _("begin all on one"),
            )
    times = Counter(horse.number for horse in horses)
    for horse in horses:
        if times[horse.number] > 1:
            raise WorkRefusedError(_("horse"), horse.called, _("it stands there twice"), _("name it once"))


@dataclass(frozen=True, slots=True)
class StringProgram:
    """A string's program, with the columns of its horses and of the pairs that could work upsides.

    `over` are columns of what goes beyond shared rules, each with its rule; of partners the rule names horse and day.
    """

    program: Program
    columns: tuple[Columns, ...]
    pairs: tuple[tuple[Pair, int], ...]
    over: tuple[tuple[Rule, int], ...] = ()

    def chosen(self, values: Floats) -> tuple[Pair, ...]:
        """Return the pairs of a solution."""
        return tuple(sorted(pair for pair, column in self.pairs if values[column] > 0.5))


def made_string(horses: Sequence[Horse], shared: Shared, prices: Parts, *, beyond: bool = False) -> StringProgram:
    """Return the program of a string.

    Args:
        horses: as of `plan_string`.
        shared: likewise.
        prices: likewise.
        beyond: whether a morning may take more horses than its limit, and a horse that was ordered upsides by hand may
            go without a partner, each horse at the price of a step.
    """
    program = Program()
    columns = tuple(add_horse(program, horse, prices) for horse in horses)
    over: list[tuple[Rule, int]] = []

    def more(rule: Rule, most: float) -> Ints:
        own = program.columns([1.0], most) if beyond else np.zeros(0, dtype=np.int64)
        over.extend((rule, int(one)) for one in own)
        return own

    for rule, day, most, names in _limits(horses, shared):
        own = [one.on(day, name) for one in columns if day < one.horse.days for name in names if name in one.names]
        if own and day >= 0:
            extra = more(rule, float(len(horses)))
            program.row_of([*own, *extra], np.r_[np.ones(len(own)), -np.ones(extra.size)], high=float(most))
    return StringProgram(program, columns, tuple(_add_pairs(program, columns, shared, more)), tuple(over))


def _limits(horses: Sequence[Horse], shared: Shared) -> Iterator[tuple[Rule, int, int, list[str]]]:
    """Yield every limit of a morning: its rule, day, most horses, and names of the orders that count."""
    orders = list({name: order for horse in horses for name, order in horse.routine.orders.items()}.values())
    for (gallop, day), most in shared.slots.items():
        yield Rule("slots", (gallop, day)), day, most, [order.name for order in orders if order.gallop == gallop]
    for kind, limits, field_ in (("workers", shared.workers, "fast"), ("riders", shared.riders, "ridden")):
        names = [order.name for order in orders if getattr(order, field_) and order.exercise != "race"]
        yield from ((Rule(kind, (day,)), day, most, names) for day, most in limits.items())


def _add_pairs(
    program: Program, columns: Sequence[Columns], shared: Shared, more: Callable[[Rule, float], Ints]
) -> Iterator[tuple[Pair, int]]:
    """Add the pairs of each day and order upsides, and that whoever works upsides is in one; yield their columns."""
    settled = shared.settled
    beside: dict[int, list[int]] = {one.on(day, name): [] for one in columns for day, name in _upsides(one)}
    by_number = sorted(columns, key=lambda one: one.horse.number)
    for one, other in combinations(by_number, 2):
        for day, name in _upsides(one):
            both = {(one.horse.number, day), (other.horse.number, day)}
            if name in other.names and not both & settled and shared.may_go(one.horse, other.horse, day):
                column = int(program.columns([0.0])[0])
                beside[one.on(day, name)].append(column)
                beside[other.on(day, name)].append(column)
                yield Pair(day, one.horse.number, other.horse.number), column
    for one in columns:
        number, freed = one.horse.number, one.horse.number in shared.without
        for day, name in _upsides(one):
            if (number, day) in settled and day in one.horse.pins:
                continue
            own = one.on(day, name)
            extra = more(Rule("partners", (number, day)), 1.0) if one.horse.pins.get(day) == name else ()
            with_ = [*beside[own], *extra]
            program.row_of([own, *with_], np.r_[1.0, -np.ones(len(with_))], 0.0, 1.0 if freed else 0.0)


def _upsides(columns: Columns) -> list[tuple[int, str]]:
    """Return every day and order upsides of a horse."""
    orders = columns.horse.routine.orders
    return [(day, name) for day in range(columns.horse.days) for name in columns.names if orders[name].upsides]
