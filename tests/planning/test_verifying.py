"""The verifier, case by case: each rule broken once, each wish departed from once."""

import ast
from dataclasses import replace
from inspect import getsource

import pytest

from planning.invented_mornings import PRICES, YOUNG
from upsides.planning import verifying
from upsides.planning.morning import Gallop, Horse, Lot, Morning, Pin, Plan, Ride, Rider
from upsides.planning.prices import Parts
from upsides.planning.rule import Rule
from upsides.planning.verifying import verify

LOTS = (Lot(1, 330, 400, 2), Lot(2, 410, 480, 2))
RIDERS = (Rider(1, 60, 3), Rider(2, 55, 2))
GOOD = Morning((Horse(1, order=1), Horse(2, order=2)), RIDERS, LOTS, (Gallop(1, 1),), YOUNG)
RIDES = (Ride(1, 1, 1, 1), Ride(2, 1, 2, 2))
BOTH_FIRST = Plan(RIDES)


def _with(one: Horse, other: Horse | None = None, **more: object) -> Morning:
    return replace(GOOD, horses=(one, other or GOOD.horses[1]), **more)


@pytest.mark.parametrize(
    ("morning", "plan", "broken"),
    [
        (GOOD, Plan((*RIDES, Ride(3))), Rule("unknown", (3,))),
        (GOOD, Plan((Ride(1, 1, 9, 1), RIDES[1])), Rule("unknown", (1,))),
        (GOOD, Plan((Ride(1, 9, 1, 1), RIDES[1])), Rule("unknown", (1,))),
        (GOOD, Plan(RIDES[:1]), Rule("once", (2,))),
        (GOOD, Plan((*RIDES, Ride(2, 2, 2, 1))), Rule("once", (2,))),
        (GOOD, Plan((RIDES[0], Ride(2))), Rule("rider")),
        (GOOD, Plan((Ride(1, 1, 1, 1), Ride(2, 1, 1, 2))), Rule("twice", (1,))),
        (
            replace(GOOD, lots=(Lot(1, 330, 420, 2), LOTS[1])),
            Plan((Ride(1, 1, 1, 1), Ride(2, 2, 1, 1))),
            Rule("twice", (1,)),
        ),
        (_with(Horse(1, carries_kg=59)), BOTH_FIRST, Rule("weight", (1,))),
        (replace(_with(Horse(1, carries_kg=90)), riders=(Rider(1), RIDERS[1])), BOTH_FIRST, Rule("weight", (1,))),
        (_with(Horse(1, asks=4)), BOTH_FIRST, Rule("skill", (1,))),
        (replace(GOOD, riders=(Rider(1, hours=((340, 900),)), RIDERS[1])), BOTH_FIRST, Rule("hours", (1,))),
        (replace(GOOD, riders=(Rider(1, lots=frozenset({2})), RIDERS[1])), BOTH_FIRST, Rule("hours", (1,))),
        (replace(GOOD, riders=(Rider(1, most=0), RIDERS[1])), BOTH_FIRST, Rule("most", (1,))),
        (replace(GOOD, riders=(Rider(1, young=True), RIDERS[1])), BOTH_FIRST, Rule("young", (1,))),
        (replace(GOOD, lots=(Lot(1, 330, 400, 1), LOTS[1])), BOTH_FIRST, Rule("size", (1,))),
        (_with(Horse(1, gallop=1), Horse(2, gallop=1)), BOTH_FIRST, Rule("gallop", (1,))),
        (_with(Horse(1, partners=(2,))), Plan((RIDES[0], Ride(2, 2, 2, 1))), Rule("partners", (1, 2))),
        (_with(Horse(1, sex="colt", apart=True), Horse(2, sex="filly")), BOTH_FIRST, Rule("apart", (1,))),
        (_with(Horse(1, sex="colt"), Horse(2, sex="filly", apart=True)), BOTH_FIRST, Rule("apart", (2,))),
        (_with(Horse(1, not_with=(2, 9))), BOTH_FIRST, Rule("not_with", (1, 2))),
        (_with(Horse(1, not_by=frozenset({1}))), BOTH_FIRST, Rule("not_by", (1,))),
        (replace(GOOD, riders=(Rider(1, barred=frozenset({1})), RIDERS[1])), BOTH_FIRST, Rule("law", (1,))),
        (replace(GOOD, pins=(Pin(1, lot=2),)), BOTH_FIRST, Rule("pin", (1,))),
        (replace(GOOD, pins=(Pin(1, rider=2),)), BOTH_FIRST, Rule("pin", (1,))),
        (GOOD, Plan((Ride(1, 1, 1, 1), Ride(2, 1, 2, 3))), Rule("string", (1,))),
    ],
)
def test_each_rule_is_seen_when_it_is_broken(morning: Morning, plan: Plan, broken: Rule) -> None:
    """A plan that breaks one rule is told that one and no other."""
    assert verify(morning, plan, PRICES).broken == (broken,)


def test_horses_that_work_together_stand_beside_each_other() -> None:
    """A third horse between two that work together breaks the order of the string."""
    three = (Horse(1, partners=(3,)), Horse(2), Horse(3))
    morning = Morning(three, (*RIDERS, Rider(3)), (Lot(1, 330, 400, 3),), (), YOUNG)
    plan = Plan(tuple(Ride(n, 1, n, n) for n in (1, 2, 3)))
    assert verify(morning, plan, PRICES).broken == (Rule("string", (1,)),)
    beside = Plan((Ride(1, 1, 1, 1), Ride(3, 1, 3, 2), Ride(2, 1, 2, 3)))
    assert verify(morning, beside, PRICES).broken == ()


@pytest.mark.parametrize(
    ("morning", "plan", "amounts"),
    [
        (GOOD, Plan((Ride(1, 1, 1, 1), Ride(2, 2, 2, 1))), Parts()),
        (GOOD, BOTH_FIRST, Parts(barn_order=1)),
        (_with(Horse(1, usual=2), Horse(2, usual=2, order=2)), BOTH_FIRST, Parts(usual=1, barn_order=1)),
        (_with(Horse(1, awkward=3), Horse(2, order=2)), BOTH_FIRST, Parts(awkward=1, barn_order=1)),
        (_with(Horse(1, saddle="a"), Horse(2, saddle="b", order=2)), BOTH_FIRST, Parts(barn_order=1)),
        (
            _with(Horse(1, saddle="a"), Horse(2, saddle="b", order=2)),
            Plan((Ride(1, 1, 1, 1), Ride(2, 2, 1, 1))),
            Parts(saddle=1),
        ),
        (_with(Horse(1, walker=True), Horse(2, order=2)), Plan((Ride(2, 2, 2, 1), Ride(1))), Parts(walker=1)),
        (
            replace(GOOD, stands=Plan((Ride(1, 2, 1, 1), Ride(2, 1, 1, 1)))),
            BOTH_FIRST,
            Parts(barn_order=1, change_rider=1, change_lot=1),
        ),
    ],
)
def test_each_wish_is_counted(morning: Morning, plan: Plan, amounts: Parts) -> None:
    """What a plan departs from is counted as one counts it by hand, and costs amount times price."""
    verdict = verify(morning, plan, PRICES)
    assert (verdict.broken, verdict.amounts) == ((), amounts)
    assert verdict.costs.total == sum(
        getattr(amounts, part) * getattr(PRICES, part) for part in Parts.__dataclass_fields__
    )


def test_the_verifier_knows_no_solver() -> None:
    """Neither the verifier nor anything of the room that it imports, imports a solver."""
    waiting, seen = [verifying], set()
    while waiting:
        module = waiting.pop()
        for node in ast.walk(ast.parse(getsource(module))):
            name = node.module if isinstance(node, ast.ImportFrom) else None
            names = [name or ""] if name else [x.name for x in node.names] if isinstance(node, ast.Import) else []
            assert not any(x.split(".")[0] in {"highspy", "scipy", "ortools"} for x in names)
            if name and name.startswith("upsides.planning.") and name not in seen:
                seen.add(name)
                waiting.append(__import__(name, fromlist=["_"]))
    assert "upsides.planning.rule" in seen
