"""The next best plans of a horse in its string, against every plan that it could have with all others left alone."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.work.test_string import _may, _string
from planning.work.tiny_horses import PRICES, every_plan
from upsides.errors import WorkClashError
from upsides.planning.solving import Watch
from upsides.planning.work.others import Others
from upsides.planning.work.plans import plan_work
from upsides.planning.work.shared import Pair
from upsides.planning.work.string import StringWork, plan_string
from upsides.planning.work.verifying import verify

NEAR = 1e-5


def _fast(string: StringWork, place: int, days: tuple[str, ...]) -> tuple[bool, ...]:
    orders = string.horses[place].routine.orders
    return tuple(orders[name].fast and name != "race" for name in days)


def _left(string: StringWork, place: int, days: tuple[str, ...]) -> set[Pair]:
    """Return the pairs that other days of a horse break."""
    number, before = string.horses[place].number, string.plans[place].days
    own = {pair for pair in string.pairs if number in {pair.one, pair.other}}
    return {pair for pair in own if days[pair.day] != before[pair.day]}


def _open(string: StringWork, place: int, days: tuple[str, ...]) -> bool:
    """Return whether the string may do so, partners that the horse leaves let off."""
    horse, plan = string.horses[place], string.plans[place]
    beside = {pair.day for pair in string.pairs if horse.number in {pair.one, pair.other}}
    for day, name in enumerate(days):
        free = horse.number in string.shared.without
        if horse.routine.orders[name].upsides and not (day in beside and name == plan.days[day]) and not free:
            return False
    left = {n for pair in _left(string, place, days) for n in (pair.one, pair.other)} - {horse.number}
    shared = replace(string.shared, without=string.shared.without | left)
    every = [plan.days for plan in string.plans]
    return _may(string.horses, (*every[:place], days, *every[place + 1 :]), shared)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.integers(0, 10**6))
def test_no_other_days_of_fast_work_depart_less(seed: int) -> None:
    """Counting out all days of a horse: its next best plan has fast work on other days and departs least of such.

    What it costs counts a step for each partner that it leaves; where no other days of fast work are left it has
    another order on a day.
    """
    horses, shared = _string(seed)
    try:
        string = plan_string(horses, shared, PRICES)
    except WorkClashError:
        return
    for place, horse in enumerate(horses):
        cheapest: dict[tuple[str, ...], float] = {}
        for one in every_plan(horse):
            cost = one.cost + PRICES.swapped * len(_left(string, place, one.days))
            cheapest[one.days] = min(cheapest.get(one.days, cost), cost)
        best = string.plans[place].days
        ways = {days: cost for days, cost in cheapest.items() if days != best and _open(string, place, days)}
        apart = {days: cost for days, cost in ways.items() if _fast(string, place, days) != _fast(string, place, best)}
        found = Others(string, PRICES).of(place, 1)
        assert bool(found) == bool(ways)
        for one in found:
            left, least = len(one.leaves), min((apart or ways).values())
            assert verify(horse, one.work.plan, PRICES).broken == ()
            assert one.work.plan.days in (apart or ways)
            assert one.work.costs.total + PRICES.swapped * left == pytest.approx(least, abs=NEAR)
            assert left == len(_left(string, place, one.work.plan.days))


def test_the_third_plan_differs_from_the_second() -> None:
    """Each of the plans has fast work on days on which none before it has, as far as there are such days."""
    horses, _shared = _string(4)
    found = plan_work(horses[1], PRICES, 3, fast=True)
    assert len({one.plan.days for one in found}) == len(found) > 1
    by_day = plan_work(horses[1], PRICES, 3)
    assert by_day[0].costs.total == pytest.approx(found[0].costs.total, abs=NEAR)
    assert by_day[1].costs.total <= found[1].costs.total + NEAR


def test_a_stop_ends_the_search_for_others() -> None:
    """Somebody who stops it keeps the plans found so far, here none."""
    horses, shared = _string(4)
    string = plan_string(horses, shared, PRICES)
    assert Others(string, PRICES).of(0, 2, watch=Watch(stop=lambda: True)) == ()
    assert len(Others(string, PRICES).of(0, 2)) == 2
