"""Plans of work against every plan there is, counted out day by day."""

from dataclasses import replace
from itertools import product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.work.tiny_horses import MONDAY, PRICES, SETTINGS, every_plan, tiny
from upsides.books.diary.work import ALLOWED
from upsides.errors import WorkClashError
from upsides.planning.rule import Rule
from upsides.planning.work.asked import asked, date_of
from upsides.planning.work.horse import Horse, Past, Plan, Race, Step, by_itself
from upsides.planning.work.plans import adapt, clash, plan_work
from upsides.planning.work.rules import rules_of, without_rules
from upsides.planning.work.said import date_words, plain
from upsides.planning.work.sentences import company_told, told
from upsides.planning.work.shared import Shared
from upsides.planning.work.string import plan_string
from upsides.planning.work.verifying import amounts, verify

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
    """Counting out all plans: with a set alone there is none, without any one of its rules there is one.

    Of the whole horse there is a plan without what is told, and without any one rule only where that is said.
    """
    horse = tiny(seed)
    found = clash(horse)
    if not found:
        assert every_plan(horse)
        return

    def alone(kept: set[Rule]) -> bool:
        return bool(every_plan(without_rules(horse, set(rules_of(horse)) - kept)))

    for one in map(set, found.sets):
        assert not alone(one)
        for rule in one:
            assert alone(one - {rule}), rule
    assert len(set(found.rules)) == len(found.rules)
    enough = [bool(every_plan(without_rules(horse, [rule]))) for rule in found.rules]
    assert found.any_one == (len(found.sets) == 1 and all(enough))
    if not found.any_one:
        assert every_plan(without_rules(horse, found.without))
        assert all(set(found.without) & set(one) for one in found.sets)


def test_on_a_tie_the_walker_goes_before_a_day_off() -> None:
    """Nobody rides on a day on which the routine has a walk: the horse goes on the walker, not off. Common practice."""
    horse = _usual(past=(Past(-1, fast=True, raced_m=1000.0), Past(-2), Past(-3, rest=True), Past(-4), Past(-5)),
                   unridden=frozenset({1}))  # fmt: skip
    assert asked(horse).orders[1].name == "walk"
    (found,) = plan_work(horse, PRICES)
    assert found.plan.days[1] == "walker"
    assert found.amounts.rested == 0


def test_without_a_partner_the_same_work_is_done_alone() -> None:
    """Where nobody suits, work upsides is done alone over its own distance, before any other fast work."""
    horse = Horse(1, MONDAY, SETTINGS.routine("miler"), figure=80.0, trip_m=1600.0, partners=True)
    (plan,) = plan_string([horse], Shared(), PRICES).plans
    wanted = [order.name for order in asked(horse).orders]
    works = [(name, wants) for name, wants in zip(plan.days, wanted, strict=False) if wants.endswith("_upsides")]
    assert works
    assert all(name == wants.removesuffix("_upsides") for name, wants in works)


def _usual(**more: Any) -> Horse:
    return Horse(1, MONDAY, SETTINGS.routine("sprinter"), **more)


def test_two_clashes_are_both_told() -> None:
    """Races on two days, each where a vet leaves a walk: giving up one rule of one leaves no plan, of each does."""
    steps = (Step(1, 3, ALLOWED["walk"]), Step(8, 9, ALLOWED["walk"]))
    horse = _usual(races=(Race(2, 1200.0), Race(9, 1200.0)), steps=steps)
    found = clash(horse)
    races = Rule("race", (1, 2)), Rule("race", (1, 9))
    vets = Rule("vet", (1, 0)), Rule("vet", (1, 1))
    assert {frozenset(one) for one in found.sets} == {frozenset(both) for both in zip(races, vets, strict=True)}
    assert set(found.without) == set(races), "what the vet says is the last to go"
    for rule in found.rules:
        assert clash(without_rules(horse, [rule])), "the other is still there"
    for one, other in product(*found.sets):
        assert not clash(without_rules(horse, [one, other]))
    with pytest.raises(WorkClashError) as refused:
        plan_work(horse, PRICES)
    words = str(refused.value)
    assert words.count("no plan keeps all of these together") == 2
    assert "any one" not in words
    assert "at least one of each must be given up; with all of these given up there is a plan: horse 1 runs on" in words


def test_rules_that_clash_in_more_than_one_way_are_not_said_to_be_enough() -> None:
    """Fast work yesterday, and fixed for three days: one clash is told, and without which rules there is a plan."""
    pins = dict.fromkeys((1, 6, 7), "fast_3f")
    horse = _usual(past=(Past(-1, fast=True),), pins=pins, gap=3)
    found = clash(horse)
    assert not found.any_one
    assert any(clash(without_rules(horse, [rule])) for rule in found.rules)
    assert not clash(without_rules(horse, found.without))
    for rule in found.without:
        assert clash(without_rules(horse, set(found.without) - {rule})), "each of them must go"


@pytest.mark.parametrize(("kind", "usual"), [("sprinter", False), ("miler", True)])
def test_work_on_another_day_keeps_the_routine_s_company(kind: str, usual: bool) -> None:  # noqa: FBT001
    """On a day of no work in the routine other company costs what it costs on its own: alone goes on alone."""
    horse = Horse(1, MONDAY, SETTINGS.routine(kind), partners=True)
    names = [name for name, one in horse.routine.orders.items() if one.fast_f and one.like and one.upsides]
    days = plan_work(horse, PRICES)[0].plan.days
    for name in names:
        alone = horse.routine.orders[name].like
        both = [amounts(horse, Plan((*days[:2], way, *days[3:]))).alone for way in (alone, name)]
        assert both == ([1, 0] if usual else [0, 1])
    found = plan_work(replace(horse, pins={4: "walk"}), PRICES)[0]
    works = [horse.routine.orders[name] for name in found.plan.days if horse.routine.orders[name].fast]
    assert works
    assert all(one.upsides == usual for one in works)


def test_no_plan_of_one_horse_goes_upsides_with_nobody() -> None:
    """Planned by itself a horse of either company goes upsides in none of its plans but by hand; the days are told."""
    horse = by_itself(Horse(1, MONDAY, SETTINGS.routine("sprinter"), pins={4: "walk"}, partners=True))
    found = plan_work(horse, PRICES, 6)
    assert len(found) == 6
    assert not [name for one in found for name in one.plan.days if horse.routine.orders[name].upsides]
    assert not [one for work in found for one in company_told(horse, work.plan)]
    ordered = by_itself(replace(horse, pins={4: "fast_3f_upsides"}))
    (work,) = plan_work(ordered, PRICES)
    (line,) = map(plain, company_told(ordered, work.plan))
    assert line.startswith("Upsides on Fri 4 Dec: a plan of one horse names no partner")
    assert company_told(replace(ordered, beside={4: frozenset({2})}), work.plan) == ()
    stands = by_itself(replace(horse, pins={}, stands={4: "fast_3f_upsides"}))
    assert adapt(stands, PRICES).plan.days[4] == "fast_3f_upsides"


def test_what_stands_behind_a_clash_is_named() -> None:
    """Three works too near to each other: of each two one must go, so the third is named beside the set."""
    horse = _usual(pins=dict.fromkeys((1, 2, 3), "fast_3f"), name="Almond")
    found = clash(horse)
    assert (len(found.sets), found.any_one) == (1, False)
    rest = {Rule("pin", (1, day)) for day in (1, 2, 3)} - set(found.rules)
    assert set(found.behind) == rest
    assert len(rest) == 1
    with pytest.raises(WorkClashError) as refused:
        plan_work(horse, PRICES)
    (day,) = (rule.of[1] for rule in rest)
    named = f"for then this may stay in the way: Almond does fast three furlongs on rising ground on {_on(horse, day)}"
    assert named in str(refused.value)


def _on(horse: Horse, day: int) -> str:
    return date_words(date_of(horse, day))


@settings(max_examples=40, deadline=None, derandomize=True)
@given(SEEDS)
def test_something_stands_behind_where_one_rule_is_not_enough(seed: int) -> None:
    """By counting: something is named where, and only where, one rule of a set is not enough without the other sets."""
    horse = tiny(seed)
    found = clash(horse)
    enough = [
        bool(every_plan(without_rules(horse, (set(found.rules) - set(one)) | {rule})))
        for one in found.sets
        for rule in one
    ]
    assert bool(found.behind) == (not all(enough))
    assert not set(found.behind) & set(found.rules)
    assert set(found.behind) <= set(rules_of(horse))


def test_a_day_that_is_only_there_to_be_another_says_so() -> None:
    """The day in which a next best plan gives up the routine for nothing has no reason, and says why it is there."""
    horse = _usual(days=7)
    best, other = plan_work(horse, PRICES, 2)
    (off,) = (day for day in range(7) if best.plan.days[day] != other.plan.days[day])
    lines = [plain(one) for one in told(horse, other.plan, PRICES, forced=True)]
    (line,) = (one for one in lines if one.startswith(f"{_on(horse, off)}: "))
    assert line.endswith(", only to be another plan.")
    assert not any("another plan" in plain(one) for one in told(horse, other.plan, PRICES))
