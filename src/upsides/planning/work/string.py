"""The work of a whole string at once: every horse's part of the program, and the rows that they share."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from upsides.errors import StoppedEarlyError, WorkClashError, WorkRefusedError
from upsides.errors.wording import gettext as _
from upsides.planning.clashing import smallest
from upsides.planning.narrowing import solve_narrowed
from upsides.planning.program import Floats, Program
from upsides.planning.rule import Rule
from upsides.planning.solving import Watch, solve
from upsides.planning.work.checking import check
from upsides.planning.work.horse import Horse, Plan
from upsides.planning.work.model import Columns, add_horse
from upsides.planning.work.naming import said_rule, said_shared
from upsides.planning.work.orders import Order
from upsides.planning.work.plans import CLOSE, clash
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
        bound: no plan of the string costs less.
    """

    horses: tuple[Horse, ...]
    plans: tuple[Plan, ...]
    verdicts: tuple[Verdict, ...]
    pairs: tuple[Pair, ...]
    cost: float
    bound: float

    @property
    def gap(self) -> float:
        """Steps by which the plan may be above the cheapest there is."""
        return max(self.cost - self.bound, 0.0)

    @property
    def proven(self) -> bool:
        """Whether no plan costs less."""
        return self.gap <= CLOSE


def plan_string(
    horses: Sequence[Horse], shared: Shared, prices: Parts, *, seed: int = 0, watch: Watch | None = None
) -> StringWork:
    """Return the plan of a string that departs least from the routines of its horses together.

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
    _check(horses)
    if not horses:
        return StringWork((), (), (), (), 0.0, 0.0)
    made = _made(horses, shared, prices)
    found = solve_narrowed(made.program, seed=seed, watch=watch)
    if not found.feasible:
        rules = clash_of_string(horses, shared, seed=seed)
        raise WorkClashError(
            [(rule.kind, rule.of) for rule in rules], [plain(_said(horses, shared, rule)) for rule in rules]
        )
    if found.values is None:
        raise StoppedEarlyError
    plans = tuple(columns.plan(found.values) for columns in made.columns)
    verdicts = tuple(verify(horse, plan, prices) for horse, plan in zip(horses, plans, strict=True))
    cost = sum(one.costs.total for one in verdicts)
    return StringWork(tuple(horses), plans, verdicts, made.chosen(found.values), cost, found.bound)


def clash_of_string(horses: Sequence[Horse], shared: Shared, *, seed: int = 0) -> tuple[Rule, ...]:
    """Return rules that no plan of a string keeps together, none of which could be left out.

    Where a horse has no plan even by itself its own rules are told.
    """
    for horse in horses:
        if alone := clash(horse, seed=seed):
            return alone
    rules = [*shared_rules(shared, horses), *(rule for horse in horses for rule in rules_of(horse))]

    def holds(kept: Sequence[Rule]) -> bool:
        up = set(rules) - set(kept)
        left = [without_rules(horse, [rule for rule in up if rule.kind not in SHARED]) for horse in horses]
        return solve(_made(left, without_shared(shared, up), Parts()).program, seed=seed).feasible

    return smallest(rules, holds)


def _said(horses: Sequence[Horse], shared: Shared, rule: Rule) -> Said:
    of_all = rule.kind in SHARED and rule.kind != "partners"
    own = next(horse for horse in horses if of_all or horse.number == rule.of[0])
    return said_shared(own, shared, rule)


def clashing(horses: Sequence[Horse], *, seed: int = 0) -> Mapping[int, tuple[Said, ...]]:
    """Return of each horse that has no plan even by itself, by its number, which of its rules clash."""
    found = {}
    for horse in horses:
        if rules := clash(horse, seed=seed):
            found[horse.number] = tuple(said_rule(horse, rule) for rule in rules)
    return found


def _check(horses: Sequence[Horse]) -> None:
    for horse in horses:
        check(horse)
        if (horse.first, horse.days) != (horses[0].first, horses[0].days):
            raise WorkRefusedError(
                _("first day of horse {number}", number=horse.number),
                horse.first,
                _("others begin on another day"),
                _("begin all on one"),
            )
    numbers = [horse.number for horse in horses]
    for number in numbers:
        if numbers.count(number) > 1:
            raise WorkRefusedError(_("horse"), number, _("it stands there twice"), _("name it once"))


@dataclass(frozen=True, slots=True)
class _String:
    """A string's program, with the columns of its horses and of the pairs that could work upsides."""

    program: Program
    columns: tuple[Columns, ...]
    pairs: tuple[tuple[Pair, int], ...]

    def chosen(self, values: Floats) -> tuple[Pair, ...]:
        """Return the pairs of a solution."""
        return tuple(sorted(pair for pair, column in self.pairs if values[column] > 0.5))


def _made(horses: Sequence[Horse], shared: Shared, prices: Parts) -> _String:
    program = Program()
    columns = tuple(add_horse(program, horse, prices) for horse in horses)
    for (gallop, day), most in shared.slots.items():
        _at_most(program, columns, day, most, [order.name for order in _orders(horses) if order.gallop == gallop])
    for limits, kind in ((shared.workers, "fast"), (shared.riders, "ridden")):
        names = [order.name for order in _orders(horses) if getattr(order, kind) and order.exercise != "race"]
        for day, most in limits.items():
            _at_most(program, columns, day, most, names)
    return _String(program, columns, tuple(_add_pairs(program, columns, shared)))


def _orders(horses: Sequence[Horse]) -> list[Order]:
    """Return every order of any horse, each name once: a yard gives its orders to all."""
    return list({name: order for horse in horses for name, order in horse.routine.orders.items()}.values())


def _at_most(program: Program, columns: Sequence[Columns], day: int, most: int, names: Sequence[str]) -> None:
    """Add that no more horses than so many have one of some orders on a day."""
    own = [one.on(day, name) for one in columns if day < one.horse.days for name in names if name in one.names]
    if own and day >= 0:
        program.row_of(own, high=float(most))


def _add_pairs(program: Program, columns: Sequence[Columns], shared: Shared) -> Iterator[tuple[Pair, int]]:
    """Add the pairs of each day and order upsides, and that whoever works upsides is in one; yield their columns."""
    beside: dict[int, list[int]] = {one.on(day, name): [] for one in columns for day, name in _upsides(one)}
    by_number = sorted(columns, key=lambda one: one.horse.number)
    for one, other in combinations(by_number, 2):
        if not shared.may_pair(one.horse, other.horse):
            continue
        for day, name in _upsides(one):
            if name in other.names:
                column = int(program.columns([0.0])[0])
                beside[one.on(day, name)].append(column)
                beside[other.on(day, name)].append(column)
                yield Pair(day, one.horse.number, other.horse.number), column
    for one in columns:
        freed = one.horse.number in shared.without
        for day, name in _upsides(one):
            own = one.on(day, name)
            program.row_of([own, *beside[own]], np.r_[1.0, -np.ones(len(beside[own]))], 0.0, 1.0 if freed else 0.0)


def _upsides(columns: Columns) -> list[tuple[int, str]]:
    """Return every day and order upsides of a horse."""
    orders = columns.horse.routine.orders
    return [(day, name) for day in range(columns.horse.days) for name in columns.names if orders[name].upsides]
