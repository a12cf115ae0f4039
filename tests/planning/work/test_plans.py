"""Plans of work against every plan there is, counted out day by day."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.work.tiny_horses import PRICES, every_plan, tiny
from upsides.errors import WorkClashError
from upsides.planning.rule import Rule
from upsides.planning.work.plans import adapt, clash, plan_work
from upsides.planning.work.rules import rules_of, without_rules
from upsides.planning.work.verifying import verify

SEEDS = st.integers(0, 10**6)
NEAR = 1e-5


@settings(max_examples=60, deadline=None, derandomize=True)
@given(SEEDS)
def test_the_plan_departs_least_of_all_plans(seed: int) -> None:
    """A plan breaks no rule and costs what the cheapest of all costs; where there is none it is refused."""
    horse = tiny(seed)
    plans = every_plan(horse)
    if not plans:
        with pytest.raises(WorkClashError):
            plan_work(horse, PRICES)
        return
    (found,) = plan_work(horse, PRICES)
    assert verify(horse, found.plan, PRICES).broken == ()
    assert found.costs.total == pytest.approx(min(one.cost for one in plans), abs=NEAR)
    assert found.proven


@settings(max_examples=40, deadline=None, derandomize=True)
@given(SEEDS)
def test_the_three_best_are_the_three_best(seed: int) -> None:
    """Three plans that differ in a day cost what the three cheapest of all ways to spend those days cost."""
    horse = tiny(seed)
    cheapest: dict[tuple[str, ...], float] = {}
    for one in every_plan(horse):
        cheapest[one.days] = min(cheapest.get(one.days, one.cost), one.cost)
    if not cheapest:
        return
    found = plan_work(horse, PRICES, 3)
    assert len({one.plan.days for one in found}) == len(found) == min(len(cheapest), 3)
    assert [one.costs.total for one in found] == pytest.approx(sorted(cheapest.values())[:3], abs=NEAR)
    assert all(one.proven for one in found)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(SEEDS)
def test_a_plan_that_stands_is_changed_least(seed: int) -> None:
    """No plan changes fewer days of the one that stands, and none that changes as few costs less."""
    horse = tiny(seed)
    plans = every_plan(horse)
    if not plans:
        return
    found = adapt(horse, PRICES)
    assert verify(horse, found.plan, PRICES).broken == ()
    least = min((one.changes, one.cost) for one in plans)
    assert (found.amounts.change, found.costs.total) == pytest.approx(least, abs=NEAR)
    assert found.proven


@settings(max_examples=60, deadline=None, derandomize=True)
@given(SEEDS)
def test_a_clash_cannot_be_made_smaller(seed: int) -> None:
    """Counting out all plans: with the clash alone there is none, without any one of its rules there is one."""
    horse = tiny(seed)
    found = set(clash(horse))
    if not found:
        assert every_plan(horse)
        return

    def alone(kept: set[Rule]) -> bool:
        return bool(every_plan(without_rules(horse, set(rules_of(horse)) - kept)))

    assert not alone(found)
    for rule in found:
        assert alone(found - {rule}), rule
