"""The verifier, rule by rule and part by part, and that nothing rewards running below merit."""

import ast
from dataclasses import fields, replace
from inspect import getsource

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.work.tiny_horses import MONDAY, PRICES, SETTINGS, every_plan, tiny
from upsides.planning.rule import Rule
from upsides.planning.work import asked, horse, orders, routine, rules, shared, shown, stalls, verifying
from upsides.planning.work.horse import Horse, Past, Plan, Race, Span, Step
from upsides.planning.work.plans import plan_work
from upsides.planning.work.routine import PARTS, Limit, Parts
from upsides.planning.work.said import plain
from upsides.planning.work.sentences import told
from upsides.planning.work.verifying import amounts, verify

SPRINTER = SETTINGS.routine("sprinter")
WEEK = ("hack_canter", "steady_canter", "steady_canter", "steady_canter", "fast_3f", "steady_canter", "off")
PLAIN = Horse(1, MONDAY, SPRINTER, days=7)
SLOW = frozenset({"off", "walk", "hack_canter", "steady_canter"})


@pytest.mark.parametrize("module", [asked, horse, orders, routine, rules, shared, shown, stalls, verifying])
def test_the_verifier_knows_no_solver(module: object) -> None:
    """Neither the verifier nor what it is made of imports a solver, or what speaks to one."""
    tree = ast.parse(getsource(module))  # type: ignore[arg-type] # it is a module
    named = {node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    named |= {one.name for node in ast.walk(tree) if isinstance(node, ast.Import) for one in node.names}
    assert not [name for name in named if any(word in name for word in ("highspy", "solving", "model", "program"))]


def _but(day: int, order: str, week: tuple[str, ...] = WEEK) -> Plan:
    return Plan((*week[:day], order, *week[day + 1 :]))


def test_the_routines_own_week_costs_nothing() -> None:
    """What the routine has breaks nothing and departs from nothing."""
    assert verify(PLAIN, Plan(WEEK), PRICES) == verifying.Verdict((), Parts(), Parts())


@pytest.mark.parametrize(
    ("subject", "plan", "rule"),
    [
        (PLAIN, _but(5, "fast_3f"), Rule("gap", (1,))),
        (replace(PLAIN, past=(Past(-1, fast=True),)), _but(0, "fast_3f"), Rule("gap", (1,))),
        (replace(PLAIN, races=(Race(6, 1200.0),)), _but(6, "race"), Rule("gap", (1,))),
        (replace(PLAIN, races=(Race(6, 1200.0),)), Plan(WEEK), Rule("race", (1, 6))),
        (PLAIN, _but(6, "walk"), Rule("rest", (1,))),
        (replace(PLAIN, rest=2), Plan(WEEK), Rule("rest", (1,))),
        (replace(PLAIN, limits=(Limit(14.0, 7, 500.0),)), Plan(WEEK), Rule("limit", (1, 0))),
        (
            replace(PLAIN, limits=(Limit(14.0, 9, 800.0),), past=(Past(-1, metres=(*[0.0] * 28, 300.0)),)),
            Plan(WEEK),
            Rule("limit", (1, 0)),
        ),
        (replace(PLAIN, steps=(Step(3, 6, SLOW),)), Plan(WEEK), Rule("vet", (1, 0))),
        (replace(PLAIN, steps=(Step(3, 6, SLOW, "stand_down"),)), Plan(WEEK), Rule("stand_down", (1, 0))),
        (replace(PLAIN, unridden=frozenset({2})), Plan(WEEK), Rule("rider", (1, 2))),
        (replace(PLAIN, pins={2: "off"}), Plan(WEEK), Rule("pin", (1, 2))),
        (PLAIN, _but(2, "box"), Rule("unknown", (1,))),
        (PLAIN, _but(2, "race"), Rule("unknown", (1,))),
        (PLAIN, _but(4, "fast_3f_upsides"), Rule("unknown", (1,))),
        (PLAIN, _but(2, "leap"), Rule("unknown", (1,))),
        (PLAIN, Plan(WEEK[:6]), Rule("unknown", (1,))),
        (
            replace(PLAIN, races=(Race(6, 1200.0),), lessons=1, certificate=True, gap=1),
            _but(6, "race"),
            Rule("lessons", (1,)),
        ),
    ],
)
def test_each_rule_is_found_broken(subject: Horse, plan: Plan, rule: Rule) -> None:
    """A plan that breaks one rule is told that rule."""
    assert rule in verify(subject, plan, PRICES).broken


def test_a_gallop_that_is_shut_is_found() -> None:
    """Fast work on a gallop that is shut that day breaks the rule of that gallop and day."""
    gallops = {name: replace(one, gallop=3) if one.fast else one for name, one in SPRINTER.orders.items()}
    shut = replace(PLAIN, routine=replace(SPRINTER, orders=gallops), closed=frozenset({(3, 4)}))
    assert verify(shut, Plan(WEEK), PRICES).broken == (Rule("closed", (1, 3, 4)),)


@pytest.mark.parametrize(
    ("counts", "broken"),
    [
        ((("off", 1), ("steady_canter", 4), ("fast_3f", 2)), ()),
        ((("off", 1), ("steady_canter", 3), ("fast_3f", 3)), ()),
        ((("off", 1), ("steady_canter", 2), ("fast_3f", 4)), (Rule("gap", (1,)),)),
        ((("steady_canter", 5), ("fast_3f", 2)), (Rule("rest", (1,)),)),
    ],
)
def test_later_weeks_have_room_for_their_works(counts: tuple[tuple[str, int], ...], broken: tuple[Rule, ...]) -> None:
    """Three works three days apart have room in the seven days before a race on the tenth day after, four have not."""
    subject = replace(PLAIN, races=(Race(16, 1200.0),))
    after = Span(14, 15, (("hack_canter", 2),))
    plan = Plan(WEEK, (Span(7, 13, counts), after, Span(16, 16, (("race", 1),))))
    assert verify(subject, plan, PRICES).broken == broken


@pytest.mark.parametrize(
    ("subject", "plan", "part", "amount"),
    [
        (PLAIN, _but(4, "steady_canter"), "easier", 1),
        (PLAIN, _but(4, "steady_canter"), "fast_short", 3),
        (PLAIN, _but(0, "walk"), "easier", 2),
        (PLAIN, _but(1, "fast_3f"), "harder", 1),
        (PLAIN, _but(1, "fast_3f"), "fast_over", 2.5),
        (replace(PLAIN, partners=True), _but(4, "fast_3f_upsides"), "alone", 1),
        (replace(PLAIN, partners=True), _but(4, "fast_3f_upsides"), "swapped", 0),
        (PLAIN, _but(0, "off"), "rested", 1),
        (PLAIN, _but(6, "off"), "rested", 0),
        (PLAIN, _but(1, "stalls"), "lessons_over", 1),
        (replace(PLAIN, stands={0: "walk", 1: "steady_canter"}), Plan(WEEK), "change", 1),
        (replace(PLAIN, races=(Race(6, 1200.0),), gap=1), _but(6, "race"), "late", 1),
        (replace(PLAIN, races=(Race(6, 1200.0),)), Plan((*("off",) * 6, "race")), "stale", 1),
    ],
)
def test_each_departure_is_counted(subject: Horse, plan: Plan, part: str, amount: float) -> None:
    """One departure is counted as it is described."""
    assert getattr(amounts(subject, plan), part) == pytest.approx(amount)


def test_races_and_past_days_are_beyond_reach() -> None:
    """Of seven past days without rest nothing is asked that the planned days cannot give."""
    tired = replace(PLAIN, rest=2, days=1, past=tuple(Past(-k) for k in range(1, 7)))
    assert verify(tired, Plan(("off",)), PRICES).broken == ()
    assert verify(tired, Plan(("walk",)), PRICES).broken == (Rule("rest", (1,)),)


def test_rest_gives_way_to_a_race_and_counts_from_after_it() -> None:
    """After six days without rest a race tomorrow stands, the next day is the day of rest, and the reason is told."""
    tired = replace(PLAIN, days=4, races=(Race(0, 1200.0),), past=tuple(Past(-k) for k in range(1, 7)))
    (found,) = plan_work(tired, PRICES)
    assert found.plan.days[0] == "race"
    assert tired.routine.orders[found.plan.days[1]].rest
    assert verify(tired, found.plan, PRICES).broken == ()
    assert verify(tired, replace(found.plan, days=("race", "walk", "off", "walk")), PRICES).broken == (
        Rule("rest", (1,)),
    )
    lines = [plain(one) for one in told(tired, found.plan, PRICES)]
    assert (
        "The race on Mon 30 Nov comes after 0 days of rest in seven, of 1 asked for: the race is fixed, so the "
        "rule on rest gives way and counts from after it." in lines
    )
    rested = replace(tired, past=(Past(-1, rest=True), *tired.past[1:]))
    (found,) = plan_work(rested, PRICES)
    assert not any("gives way" in plain(line) for line in told(rested, found.plan, PRICES))


def test_nothing_told_of_a_horse_is_its_mark_or_its_price() -> None:
    """No fact of a horse, and no price, is about a handicap mark, weight, prize or odds."""
    named = {one.name for kind in (Horse, Race, Past, Parts) for one in fields(kind)}
    assert not [name for name in named if any(word in name for word in ("mark", "weight", "odds", "prize", "rating"))]


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.integers(0, 10**6))
def test_nothing_below_merit_is_cheaper(seed: int) -> None:
    """No plan earns anything, a race is never left out or eased, and unsharp horses cost no less than sharp ones."""
    subject = tiny(seed)
    for one in every_plan(subject):
        assert one.cost >= 0
        assert all(one.every[race.day] == "race" for race in subject.races)
    if subject.races and every_plan(subject):
        (best,) = plan_work(subject, PRICES)
        free = replace(PRICES, stale=0.0)
        assert plan_work(subject, free)[0].costs.total <= best.costs.total + 1e-5
        assert all(getattr(best.costs, part) >= 0 for part in PARTS)
