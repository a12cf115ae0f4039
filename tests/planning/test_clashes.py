"""Rules that clash: together there is no plan, without any one of them there is."""

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.invented_mornings import PRICES, YOUNG, invented, tiny
from planning.test_lots import every_plan
from upsides.errors import LotsClashError
from upsides.planning.clashing import clash, feasible
from upsides.planning.lots import plan_lots
from upsides.planning.morning import Horse, Lot, Morning, Pin, Rider
from upsides.planning.rule import Rule, rules_of, without_rules


def _alone(morning: Morning, kept: set[Rule]) -> Morning:
    return without_rules(morning, set(rules_of(morning)) - kept)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.integers(0, 10**6))
def test_a_clash_of_a_small_morning_cannot_be_made_smaller(seed: int) -> None:
    """Counting out all plans: with a set alone there is none, without any one of its rules there is one.

    Of the whole morning there is a plan without what is told, and without any one rule only where that is said.
    """
    morning = tiny(seed)
    told = clash(morning)
    if not told:
        assert next(every_plan(morning), None) is not None
        return
    for found in map(set, told.sets):
        assert next(every_plan(_alone(morning, found)), None) is None
        for rule in found:
            assert next(every_plan(_alone(morning, found - {rule})), None) is not None
    enough = [next(every_plan(without_rules(morning, [rule])), None) is not None for rule in told.rules]
    assert told.any_one == (len(told.sets) == 1 and all(enough))
    if not told.any_one:
        assert next(every_plan(without_rules(morning, told.without)), None) is not None
        assert all(set(told.without) & set(one) for one in told.sets)


def test_a_clash_of_a_large_morning_cannot_be_made_smaller() -> None:
    """The same by solving, where a yard of sixty horses has too few riders at the right time."""
    whole = invented(2, 60, 20, 4)
    pins = tuple(Pin(horse.number, rider=whole.riders[5].number) for horse in whole.horses[:5] if not horse.partners)
    morning = Morning(whole.horses, whole.riders, whole.lots, whole.gallops, YOUNG, pins)
    told = clash(morning)
    assert told
    for found in map(set, told.sets):
        assert not feasible(_alone(morning, found))
        assert all(feasible(_alone(morning, found - {rule})) for rule in found)
    assert feasible(without_rules(morning, told.without or told.rules[:1]))


def test_two_clashes_are_both_told() -> None:
    """Two horses are each fixed to somebody who may not ride them: one rule of each must go, and then there is a plan.

    A horse that is only too heavily ridden is not said to be all that stands in the way.
    """
    heavy, strong = Horse(1, carries_kg=55), Horse(2, asks=4)
    riders = (Rider(1, 70, 5), Rider(2, 50, 1), Rider(3, 50, 5))
    pins = (Pin(1, rider=1), Pin(2, rider=2))
    morning = Morning((heavy, strong), riders, (Lot(1, 360, 420, 4),), (), YOUNG, pins)
    told = clash(morning)
    first, second = {Rule("weight", (1,)), Rule("pin", (1,))}, {Rule("skill", (2,)), Rule("pin", (2,))}
    assert {frozenset(one) for one in told.sets} == {frozenset(first), frozenset(second)}
    assert set(told.without) == {Rule("pin", (1,)), Rule("pin", (2,))}, "weight and skill are the last to go"
    assert not any(feasible(without_rules(morning, [rule])) for rule in told.rules)
    assert all(feasible(without_rules(morning, both)) for both in product(first, second))
    with pytest.raises(LotsClashError) as refused:
        plan_lots(morning, PRICES)
    assert "any one" not in str(refused.value)
    assert "must be given up; with all of these given up there is a plan: horse 1 goes as" in str(refused.value)


HORSE = Horse(1, asks=3, carries_kg=58)
LOT = Lot(1, 360, 420, 1)


@pytest.mark.parametrize(
    ("horses", "riders", "rules"),
    [
        ((HORSE,), (Rider(1, 57, 2), Rider(2, 60, 4)), {Rule("rider"), Rule("skill", (1,)), Rule("weight", (1,))}),
        ((Horse(1), Horse(2)), (Rider(1), Rider(2)), {Rule("rider"), Rule("size", (1,))}),
        ((Horse(1),), (Rider(1, hours=((0, 400),)),), {Rule("rider"), Rule("hours", (1,))}),
        ((Horse(1, "fast"),), (Rider(1, young=True),), {Rule("rider"), Rule("young", (1,))}),
        ((Horse(1),), (Rider(1, most=0),), {Rule("rider"), Rule("most", (1,))}),
        ((Horse(1),), (), {Rule("rider")}),
    ],
)
def test_a_clash_names_what_stands_in_the_way(
    horses: tuple[Horse, ...], riders: tuple[Rider, ...], rules: set[Rule]
) -> None:
    """Where one thing stands in the way it is named, and nothing beside it."""
    found = clash(Morning(horses, riders, (LOT,), (), YOUNG))
    assert (set(found.rules), len(found.sets), found.any_one) == (rules, 1, True)
