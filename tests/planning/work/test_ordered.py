"""The string's plan round what was ordered by hand: it always has one, and says where orders go beyond its rules."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.work.tiny_horses import MONDAY, PRICES, SETTINGS
from upsides.errors import StoppedEarlyError
from upsides.planning.solving import Watch
from upsides.planning.work.first import first_plans
from upsides.planning.work.horse import Horse, Step
from upsides.planning.work.ordered import Beyond, beyond, by_hand, plan_ordered, without_plan
from upsides.planning.work.said import plain
from upsides.planning.work.sentences import told
from upsides.planning.work.shared import Pair, Shared, verify_shared
from upsides.planning.work.string import StringWork, clash_of_string, clashing
from upsides.planning.work.verifying import verify

UPSIDES = "fast_3f_upsides"


def _horse(number: int, figure: float = 80.0, *, pin: str = "", beside: Sequence[int] = ()) -> Horse:
    """Return a sprinter, on its second day ordered by hand as the pin says, beside others by number."""
    return Horse(
        number, MONDAY, SETTINGS.routine("sprinter"), pins={1: pin} if pin else {}, figure=figure, trip_m=1200.0,
        beside={1: frozenset(beside)} if beside else {}, partners=True,
    )  # fmt: skip


def _planned(horses: Sequence[Horse], shared: Shared | None = None) -> StringWork:
    """Return the plan, held against every rule of its horses and of what it says that they share."""
    found = plan_ordered(horses, shared or Shared(), PRICES)
    assert verify_shared(found.horses, found.plans, found.pairs, found.shared) == ()
    for one, plan in zip(found.horses, found.plans, strict=True):
        assert verify(one, plan, PRICES).broken == ()
        assert {day: plan.days[day] for day in one.pins} == dict(one.pins)
    return found


def _on_second(found: StringWork) -> list[Pair]:
    return [pair for pair in found.pairs if pair.day == 1]


def test_an_order_upsides_by_name_is_the_trainers_own() -> None:
    """Two horses forty pounds apart that were ordered upsides with each other go so, and are said to be in order."""
    found = _planned([_horse(1, 60.0, pin=UPSIDES, beside=[2]), _horse(2, 100.0, pin=UPSIDES, beside=[1]), _horse(3)])
    assert _on_second(found) == [Pair(1, 1, 2)]
    assert found.shared.alone == frozenset()


def test_whom_only_one_order_names_goes_with_it() -> None:
    """A horse without an order, named as partner in another's, is its partner, although a third is nearer in figure."""
    found = _planned([_horse(1, 80.0, pin=UPSIDES, beside=[2]), _horse(2, 100.0), _horse(3, 80.0)])
    assert _on_second(found) == [Pair(1, 1, 2)]


def test_two_that_were_ordered_other_work_are_no_pair() -> None:
    """Ordered upsides with each other but other work, neither is told to be the other's partner; both are told why."""
    one = _horse(1, pin=UPSIDES, beside=[2])
    other = _horse(2, pin="half_speed_upsides", beside=[1])
    found = _planned([one, other])
    assert _on_second(found) == []
    assert found.shared.alone == {(1, 1), (2, 1)}
    for place in range(2):
        lines = [plain(said) for said in told(found.horses[place], found.plans[place], PRICES, (), found.shared)]
        assert any("does not do the same work upsides" in line for line in lines)
    wrong = replace(found.shared, together=frozenset({Pair(1, 1, 2)}), alone=frozenset())
    assert verify_shared(found.horses, found.plans, [Pair(1, 1, 2)], wrong), "the verifier refuses such a pair"


def test_three_that_were_ordered_together_go_together() -> None:
    """Of three that are ordered upsides with each other each is beside both others."""
    three = [_horse(n, 60.0 + 20 * n, pin=UPSIDES, beside=[k for k in (1, 2, 3) if k != n]) for n in (1, 2, 3)]
    assert _on_second(_planned(three)) == [Pair(1, 1, 2), Pair(1, 1, 3), Pair(1, 2, 3)]


def test_whose_partner_is_taken_out_keeps_its_order_and_is_told() -> None:
    """A vet's step takes one of a pair out: the other keeps its order, has a plan, and it is said that nobody goes."""
    left = _horse(1, pin=UPSIDES, beside=[2])
    held = replace(_horse(2, pin=UPSIDES, beside=[1]), steps=(Step(0, 5, frozenset({"walk", "off"})),))
    none = without_plan([left, held])
    assert list(none) == [2]
    found = _planned([left, _horse(3, 120.0)])
    assert found.shared.alone == {(1, 1)}
    lines = [plain(one) for one in told(found.horses[0], found.plans[0], PRICES, (), found.shared)]
    assert any(line.startswith("On Tue 1 Dec it is ordered upsides and has no partner") for line in lines)


def test_one_of_three_that_suit_goes_alone() -> None:
    """Three ordered upsides without a name are one too many for pairs: two of them go together and one alone."""
    found = _planned([_horse(n, pin=UPSIDES) for n in (1, 2, 3)])
    assert len(_on_second(found)) == 1
    assert len(found.shared.alone) == 1


def test_orders_beyond_a_morning_stay_and_are_told() -> None:
    """Three ordered to work fast on a gallop and a morning that take fewer: it has three, other days their limit."""
    routine = SETTINGS.routine("sprinter")
    orders = {name: replace(one, gallop=7) if one.fast else one for name, one in routine.orders.items()}
    horses = [replace(_horse(n, pin="fast_3f"), routine=replace(routine, orders=orders)) for n in (1, 2, 3)]
    shared = Shared(slots={(7, 1): 2}, workers=dict.fromkeys(range(10), 1), riders={1: 3})
    found = _planned(horses, shared)
    assert beyond(shared, found.shared) == (Beyond("slots", 1, 7, 2, 3), Beyond("workers", 1, None, 1, 3))
    assert beyond(shared, shared) == ()


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.integers(0, 10**6))
def test_there_is_a_plan_whatever_was_ordered(seed: int) -> None:
    """Whatever is ordered of five horses on two days, within limits however narrow, each order is in a plan."""
    rng = np.random.default_rng(seed)
    horses = []
    for number in range(5):
        drawn = {day: str(rng.choice([UPSIDES, "fast_3f", "hack_canter", "off", ""])) for day in (1, 5)}
        pins = {day: name for day, name in drawn.items() if name}
        beside = {day: frozenset(int(n) for n in rng.choice(6, 2)) - {number} for day in pins if rng.random() < 0.5}
        horses.append(replace(_horse(number, float(rng.choice([60, 80, 100]))), pins=pins, beside=beside))
    shared = Shared(workers={1: int(rng.integers(3)), 5: int(rng.integers(3))}, riders={1: int(rng.integers(5))})
    assert without_plan(horses) == {}
    found = _planned(horses, shared)
    assert found.proven
    for limit in beyond(shared, found.shared):
        names = [one.pins.get(limit.day, "") for one in horses]
        ordered = [name for name in names if ("fast" in name if limit.kind == "workers" else name not in {"", "off"})]
        assert limit.has <= len(ordered) + names.count(""), "as few as can be"


def test_a_string_stopped_before_any_plan_has_one_all_the_same() -> None:
    """A search that is stopped at once keeps a plan made horse after horse: it breaks no rule."""
    horses = [replace(_horse(n, 60.0 + 3 * n), unridden=frozenset({n % 7})) for n in range(12)]
    horses[3] = replace(horses[3], pins={1: UPSIDES}, figure=150.0)
    shared = Shared(workers=dict.fromkeys(range(10), 3), riders=dict.fromkeys(range(10), 9))
    best = plan_ordered(horses, shared, PRICES)
    first = first_plans(horses, best.shared, PRICES)
    assert first is not None
    assert verify_shared(horses, first, (), best.shared) == ()
    verdicts = [verify(*both, PRICES) for both in zip(horses, first, strict=True)]
    assert all(one.broken == () for one in verdicts)
    assert sum(one.costs.total for one in verdicts) >= best.bound
    soon = plan_ordered(horses, shared, PRICES, watch=Watch(stop=lambda: True))
    assert verify_shared(horses, soon.plans, soon.pairs, soon.shared) == ()
    assert soon.bound <= best.cost <= soon.cost + 1e-6


def test_orders_beyond_a_morning_stay_where_it_is_stopped_too() -> None:
    """Three ordered to work fast on a morning that takes one, and a search that is stopped at once: there is a plan."""
    horses = [_horse(n, pin="fast_3f") for n in (1, 2, 3)]
    shared = Shared(workers=dict.fromkeys(range(10), 1))
    found = plan_ordered(horses, shared, PRICES, watch=Watch(stop=lambda: True))
    assert beyond(shared, found.shared) == (Beyond("workers", 1, None, 1, 3),)
    assert verify_shared(horses, found.plans, found.pairs, found.shared) == ()


def test_a_stop_reaches_the_search_for_what_clashes() -> None:
    """Who is stopped while it looks for rules that clash ends at once, and says nothing that it does not know."""
    away = Watch(stop=lambda: True)
    horses = [_horse(n, pin="fast_3f") for n in (1, 2)]
    for search in (
        lambda: clashing(horses, watch=away),
        lambda: without_plan(horses, watch=away),
        lambda: clash_of_string(horses, Shared(workers={1: 1}), watch=away),
    ):
        with pytest.raises(StoppedEarlyError):
            search()


def test_a_day_of_an_order_upsides_without_candidates_is_known_before() -> None:
    """Nobody of about its figure, or nobody whose day is open: it is known without a search that a horse goes alone."""
    shut = replace(_horse(2, pin="off"), partners=True)
    assert by_hand([_horse(1, pin=UPSIDES), shut, _horse(3, 120.0)], Shared()).alone == {(1, 1)}
    assert by_hand([_horse(1, pin=UPSIDES), _horse(3)], Shared()).alone == frozenset()
