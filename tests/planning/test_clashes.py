"""Rules that clash: together there is no plan, without any one of them there is."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.invented_mornings import YOUNG, invented, tiny
from planning.test_lots import every_plan
from upsides.planning.clashing import clash, feasible
from upsides.planning.morning import Horse, Lot, Morning, Pin, Rider
from upsides.planning.rule import Rule, rules_of, without_rules


def _alone(morning: Morning, kept: set[Rule]) -> Morning:
    return without_rules(morning, set(rules_of(morning)) - kept)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.integers(0, 10**6))
def test_a_clash_of_a_small_morning_cannot_be_made_smaller(seed: int) -> None:
    """Counting out all plans: with the clash alone there is none, without any one of its rules there is one."""
    morning = tiny(seed)
    found = set(clash(morning))
    if not found:
        assert next(every_plan(morning), None) is not None
        return
    assert next(every_plan(_alone(morning, found)), None) is None
    for rule in found:
        assert next(every_plan(_alone(morning, found - {rule})), None) is not None


def test_a_clash_of_a_large_morning_cannot_be_made_smaller() -> None:
    """The same by solving, where a yard of sixty horses has too few riders at the right time."""
    whole = invented(2, 60, 20, 4)
    pins = tuple(Pin(horse.number, rider=whole.riders[5].number) for horse in whole.horses[:5] if not horse.partners)
    morning = Morning(whole.horses, whole.riders, whole.lots, whole.gallops, YOUNG, pins)
    found = set(clash(morning))
    assert found
    assert not feasible(_alone(morning, found))
    assert all(feasible(_alone(morning, found - {rule})) for rule in found)


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
    assert set(clash(Morning(horses, riders, (LOT,), (), YOUNG))) == rules
