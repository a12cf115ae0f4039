"""The work of a string against every plan of all its horses together."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations, product
from typing import Final

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.work.tiny_horses import MONDAY, PRICES, SETTINGS, every_plan, tiny
from upsides.errors import WorkClashError, WorkRefusedError
from upsides.planning.rule import Rule
from upsides.planning.solving import Progress, Watch
from upsides.planning.work.asked import asked
from upsides.planning.work.horse import Horse, Plan
from upsides.planning.work.plans import plan_work
from upsides.planning.work.rules import rules_of, without_rules
from upsides.planning.work.said import plain
from upsides.planning.work.sentences import told
from upsides.planning.work.shared import SHARED, Pair, Shared, shared_rules, verify_shared, without_shared
from upsides.planning.work.shown import string_differences
from upsides.planning.work.string import clash_of_string, clashing, plan_string
from upsides.planning.work.tight import tight
from upsides.planning.work.verifying import verify

NEAR: Final = 1e-5
KEPT: Final = ("off", "hack_canter", "stalls", "fast_3f", "fast_3f_upsides", "race")
Days = tuple[tuple[str, ...], ...]


def _string(seed: int) -> tuple[list[Horse], Shared]:
    """Return three horses of two days each and what they share, so that every shared rule may matter."""
    rng = np.random.default_rng(seed)
    horses = []
    for number in range(3):
        drawn = tiny(seed + 1000 * number, KEPT)
        company = str(rng.choice(["upsides", "either"]))
        orders = {
            name: replace(order, gallop=7) if order.fast and name != "race" else order
            for name, order in drawn.routine.orders.items()
        }
        own = replace(drawn.routine, company=company, orders=orders)
        pins = {day: name for day, name in drawn.pins.items() if day < 2}
        horses.append(
            replace(
                drawn, number=number, first=MONDAY, routine=own, days=2, races=drawn.races[:1], pins=pins,
                figure=float(rng.choice([70.0, 75.0, 90.0])), trip_m=1200.0, partners=True,
                lessons=min(drawn.lessons, 1),
            )
        )  # fmt: skip
    return horses, Shared(
        {(7, int(rng.integers(2))): int(rng.integers(3))} if rng.random() < 0.6 else {},
        {int(rng.integers(2)): int(rng.integers(3))} if rng.random() < 0.5 else {},
        {int(rng.integers(2)): int(rng.integers(4))} if rng.random() < 0.5 else {},
    )


def _every(horses: Sequence[Horse], shared: Shared) -> Iterator[float]:
    """Yield the least cost of every way to spend the days that keeps all rules."""
    yield from (cost for _changes, cost in _every_changed(horses, shared))


def _every_changed(horses: Sequence[Horse], shared: Shared) -> Iterator[tuple[int, float]]:
    """Yield of every way how many days change of the plans that stand and are held to, and its least cost."""
    ways = []
    for horse in horses:
        cheapest: dict[tuple[str, ...], float] = {}
        for one in every_plan(horse):
            cheapest[one.days] = min(cheapest.get(one.days, one.cost), one.cost)
        ways.append(list(cheapest.items()))
    for chosen in product(*ways):
        if _may(horses, tuple(days for days, _ in chosen), shared):
            each = zip(horses, chosen, strict=True)
            changes = sum(days[day] != name for one, (days, _) in each if one.least for day, name in one.stands.items())
            yield changes, sum(cost for _, cost in chosen)


def _may(horses: Sequence[Horse], days: Days, shared: Shared) -> bool:
    for day in range(2):
        named = [own[day] for own in days]
        quick = [name.startswith("fast") for name in named]
        if sum(quick) > min(shared.slots.get((7, day), 9), shared.workers.get(day, 9)):
            return False
        if sum(name not in {"off", "race"} for name in named) > shared.riders.get(day, 9):
            return False
        beside = [horse for horse, name in zip(horses, named, strict=True) if name.endswith("upsides")]
        if not _paired(beside, shared):
            return False
    return True


def _paired(beside: Sequence[Horse], shared: Shared) -> bool:
    """Return whether all who need a partner find one, of two or three horses counted out."""
    need = {one.number for one in beside if one.number not in shared.without}
    suits = [
        {one.number, other.number}
        for one, other in combinations(beside, 2)
        if abs((one.figure or 0) - (other.figure or 0)) <= 7.0
    ]
    return not need or any(need <= pair for pair in suits)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.integers(0, 10**6))
def test_the_string_departs_least_of_all_strings(seed: int) -> None:
    """A string's plan breaks no rule and costs what the cheapest of all costs; where there is none it is refused."""
    horses, shared = _string(seed)
    costs = list(_every(horses, shared))
    if not costs:
        with pytest.raises(WorkClashError):
            plan_string(horses, shared, PRICES)
        return
    found = plan_string(horses, shared, PRICES)
    assert verify_shared(horses, found.plans, found.pairs, shared) == ()
    assert all(verify(*both, PRICES).broken == () for both in zip(horses, found.plans, strict=True))
    assert found.cost == pytest.approx(min(costs), abs=NEAR)
    assert found.proven


@settings(max_examples=30, deadline=None, derandomize=True)
@given(st.integers(0, 10**6))
def test_plans_that_stand_change_least_before_anything_else(seed: int) -> None:
    """Counting out all strings: none changes fewer days of the plans held to, and none that changes as few costs less.

    A horse that is planned anew has a price on its changes instead.
    """
    horses, shared = _string(seed)
    names = [name for name in horses[0].routine.orders if name != "race"]
    rng = np.random.default_rng(seed)
    horses = [
        replace(one, stands={day: str(rng.choice(names)) for day in range(2)}, least=one.number < 2) for one in horses
    ]
    ways = list(_every_changed(horses, shared))
    if not ways:
        return
    found = plan_string(horses, shared, PRICES)
    assert verify_shared(horses, found.plans, found.pairs, shared) == ()
    assert (found.changes, found.cost) == pytest.approx(min(ways), abs=NEAR)
    assert found.least == found.changes
    assert found.proven


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.integers(0, 10**6))
def test_a_clash_of_a_string_cannot_be_made_smaller(seed: int) -> None:
    """Counting out all strings: with the clash alone there is none, without any one of its rules there is one."""
    horses, shared = _string(seed)
    if next(_every(horses, shared), None) is not None:
        return
    told = clash_of_string(horses, shared)
    every = {*shared_rules(shared, horses), *(rule for horse in horses for rule in rules_of(horse))}

    def alone(kept: set[Rule]) -> bool:
        up = every - kept
        left = [without_rules(horse, [one for one in up if one.kind not in SHARED]) for horse in horses]
        return next(_every(left, without_shared(shared, up)), None) is not None

    assert told
    for found in map(set, told.sets):
        assert not alone(found)
        assert all(alone(found - {rule}) for rule in found)


def _usual(number: int, figure: float = 80.0) -> Horse:
    return Horse(number, MONDAY, SETTINGS.routine("miler"), figure=figure, trip_m=1600.0)


def test_a_string_without_shared_limits_is_its_horses() -> None:
    """Where nothing is shared, a string costs what its horses cost one by one."""
    sprinters = [Horse(n, MONDAY, SETTINGS.routine("sprinter"), unridden=frozenset({n})) for n in range(4)]
    alone = sum(plan_work(one, PRICES)[0].costs.total for one in sprinters)
    assert plan_string(sprinters, Shared(), PRICES).cost == pytest.approx(alone, abs=NEAR)


def test_two_of_a_figure_work_upsides() -> None:
    """Two milers of one figure and trip go upsides in every fast work, with each other; a third works alone."""
    found = plan_string([_usual(1), _usual(2), _usual(3, 120.0)], Shared(), PRICES)
    assert {(pair.one, pair.other) for pair in found.pairs} == {(1, 2)}
    assert all("upsides" in name for name in found.plans[0].days if name.startswith("fast"))
    assert not any("upsides" in name for name in found.plans[2].days)


def test_a_string_keeps_gallop_slots() -> None:
    """Five sprinters of one habit on a gallop that takes two a morning spread their fast work over other mornings."""
    routine = SETTINGS.routine("sprinter")
    orders = {name: replace(one, gallop=1) if one.fast else one for name, one in routine.orders.items()}
    horses = [Horse(n, MONDAY, replace(routine, orders=orders)) for n in range(5)]
    shared = Shared(slots={(1, day): 2 for day in range(10)})
    found = plan_string(horses, shared, PRICES)
    assert found.proven
    assert verify_shared(horses, found.plans, found.pairs, shared) == ()
    mornings = {day for plan in found.plans for day, name in enumerate(plan.days) if orders[name].fast}
    assert len(mornings) > 2


@pytest.mark.parametrize(
    ("plans", "pairs", "rule"),
    [
        ((("fast_5f",), ("fast_5f",)), (), Rule("workers", (0,))),
        ((("walk",), ("walk",)), (), Rule("riders", (0,))),
        ((("fast_5f_upsides",), ("off",)), (), Rule("partners", (1,))),
        ((("fast_5f_upsides",), ("half_speed_upsides",)), (Pair(0, 1, 2),), Rule("partners", (1,))),
        ((("off",), ("off",)), (Pair(0, 1, 2),), Rule("partners", (1,))),
    ],
)
def test_each_shared_rule_is_found_broken(
    plans: tuple[tuple[str], tuple[str]], pairs: tuple[Pair, ...], rule: Rule
) -> None:
    """A morning with too many fast workers, too many riders or no partner is found."""
    horses = [replace(_usual(number), days=1) for number in (1, 2)]
    shared = Shared(workers={0: 1}, riders={0: 1})
    assert rule in verify_shared(horses, [Plan(one) for one in plans], pairs, shared)


def test_partners_that_differ_too_much_are_found() -> None:
    """Two horses twenty pounds apart are no partners."""
    horses = [replace(_usual(1), days=1), replace(_usual(2, 100.0), days=1)]
    both = [Plan(("fast_5f_upsides",))] * 2
    assert Rule("partners", (1,)) in verify_shared(horses, both, [Pair(0, 1, 2)], Shared())


def test_a_string_begins_on_one_day() -> None:
    """Horses that begin on different days, or stand there twice, are refused."""
    with pytest.raises(WorkRefusedError, match="begin on another day"):
        plan_string([_usual(1), replace(_usual(2), days=5)], Shared(), PRICES)
    with pytest.raises(WorkRefusedError, match="twice"):
        plan_string([_usual(1), _usual(1)], Shared(), PRICES)


def test_nobody_is_an_empty_string() -> None:
    """A string without horses costs nothing."""
    found = plan_string([], Shared(), PRICES)
    assert (found.plans, found.cost, found.proven) == ((), 0.0, True)


def test_what_is_shared_is_the_reason_told() -> None:
    """Of two sprinters one may do fast work a morning: whoever gives way on a day is told that, and nobody else."""
    horses = [Horse(n, MONDAY, SETTINGS.routine("sprinter")) for n in (1, 2)]
    shared = Shared(workers=dict.fromkeys(range(10), 1))
    found = plan_string(horses, shared, PRICES)
    departs = string_differences(found.horses, found.plans, found.pairs, shared, PRICES)
    told_of = [
        (one.first, [reason.rule.kind for reason in one.reasons if reason.rule])
        for own in departs
        for one in own
        if one.routine == "fast_3f"
    ]
    assert told_of == [(4, ["workers"])]
    lines = [
        plain(one)
        for own, at in zip(departs, horses, strict=True)
        for one in told(at, found.plans[at.number - 1], PRICES, own, shared)
    ]
    assert any("because no more than 1 does fast work on Fri 4 Dec." in line for line in lines)


def test_same_string_and_seed_give_the_same_plan() -> None:
    """Planning twice gives one plan with the same pairs."""
    horses = [_usual(number) for number in range(5)]
    shared = Shared(workers=dict.fromkeys(range(10), 3))
    once, again = (plan_string(horses, shared, PRICES, seed=3) for _ in range(2))
    assert (once.plans, once.pairs) == (again.plans, again.pairs)


def test_a_clash_of_what_is_shared_is_told_in_words() -> None:
    """Fast work fixed by hand for two horses on a morning that takes one is told with the morning and both horses."""
    sprinter = SETTINGS.routine("sprinter")
    horses = [Horse(n, MONDAY, sprinter, pins={1: "fast_3f"}) for n in (1, 2)]
    with pytest.raises(WorkClashError) as refused:
        plan_string(horses, Shared(workers={1: 1}), PRICES)
    assert set(refused.value.rules) == {("workers", (1,)), ("pin", (1, 1)), ("pin", (2, 1))}
    assert "no more than 1 does fast work on Tue 1 Dec" in refused.value.words
    assert clashing(horses) == {}


def test_a_stop_keeps_the_best_string_so_far() -> None:
    """A string stopped at its first plan has one that breaks no rule, with a bound that the cheapest is not below."""
    horses = [replace(_usual(n, 70.0 + n), unridden=frozenset({n % 7})) for n in range(12)]
    shared = Shared(workers=dict.fromkeys(range(10), 3), riders=dict.fromkeys(range(10), 9))
    best: list[float] = []

    def tell(now: Progress) -> None:
        best.extend([now.best] if now.best < float("inf") else [])

    found = plan_string(horses, shared, PRICES, watch=Watch(tell, lambda: bool(best)))
    assert verify_shared(horses, found.plans, found.pairs, shared) == ()
    assert all(verify(*both, PRICES).broken == () for both in zip(horses, found.plans, strict=True))
    assert found.bound <= plan_string(horses, shared, PRICES).cost + NEAR <= found.cost + 2 * NEAR


def test_limits_that_stand_in_the_routines_way_are_named() -> None:
    """One of two sprinters works fast on a morning that both would: the limit is told with how many the routine asks.

    The counts are made here by hand from the routine's week; a morning on which nobody asks for fast work is not told.
    """
    horses = [Horse(n, MONDAY, SETTINGS.routine("sprinter")) for n in (1, 2)]
    shared = Shared(workers=dict.fromkeys(range(10), 1), riders=dict.fromkeys(range(10), 2))
    found = plan_string(horses, shared, PRICES)
    fast = [sum("fast" in asked(one).orders[day].name for one in horses) for day in range(10)]
    taken = [sum("fast" in plan.days[day] or "half" in plan.days[day] for plan in found.plans) for day in range(10)]
    told = tight(found.horses, found.plans, shared)
    assert [(one.day, one.most, one.asks) for one in told if one.kind == "workers"] == [
        (day, 1, fast[day]) for day in range(10) if fast[day] > 1 and taken[day] == 1
    ]
    assert told
    assert {one.kind for one in told} == {"workers"}


@pytest.mark.parametrize(("spread", "least", "most"), [(True, 0.0, 0.0), (False, 24.0, 40.0)])
def test_a_string_spread_over_the_work_mornings_keeps_its_limits_at_little_cost(
    least: float, most: float, *, spread: bool
) -> None:
    """Twenty sprinters, a gallop and a morning that take twelve: spread over Tuesday and Friday nothing departs.

    All on Friday, eight of them must work on another day, which costs three steps or more for each: a day harder
    than the routine, a day easier.
    """
    orders = {name: replace(one, gallop=7) if one.fast else one for name, one in SETTINGS.orders.items()}
    yard = replace(SETTINGS, orders=orders, kinds={
        name: replace(one, orders=orders) for name, one in SETTINGS.kinds.items()
    })  # fmt: skip
    horses = [
        Horse(number, MONDAY, yard.routine("sprinter", (), number if spread else 0), partners=True)
        for number in range(20)
    ]
    shared = Shared({(7, day): 12 for day in range(10)}, dict.fromkeys(range(10), 12))
    found = plan_string(horses, shared, PRICES)
    assert verify_shared(horses, found.plans, found.pairs, shared) == ()
    assert found.proven
    assert least - NEAR <= found.cost <= most + NEAR
