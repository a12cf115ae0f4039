"""Plans of lots against every plan there is, counted out; and what a search says of itself."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.invented_mornings import PRICES, YOUNG, invented, tiny
from upsides.errors import LotsClashError, MorningRefusedError, StoppedEarlyError
from upsides.planning import narrowing, splitting
from upsides.planning.binding import what_binds
from upsides.planning.lot_model import lot_model
from upsides.planning.lots import Lots, plan_lots, without
from upsides.planning.morning import Gallop, Horse, Lot, Morning, Pin, Plan, Ride, Rider
from upsides.planning.prices import Parts, changes_only
from upsides.planning.rule import Rule
from upsides.planning.solving import Progress, Watch, solve
from upsides.planning.string_order import in_string_order
from upsides.planning.verifying import verify

SEEDS = st.integers(0, 10**6)
NEAR = 1e-6


def every_plan(morning: Morning) -> Iterator[Plan]:
    """Yield every plan that breaks no rule, whatever it costs."""
    ways = [(None, None), *product((x.number for x in morning.lots), (x.number for x in morning.riders))]
    for chosen in product(ways, repeat=len(morning.horses)):
        rides = [Ride(h.number, lot, rider) for h, (lot, rider) in zip(morning.horses, chosen, strict=True)]
        plan = in_string_order(morning, rides)
        if not verify(morning, plan, PRICES).broken:
            yield plan


def _costs(morning: Morning, prices: Parts = PRICES) -> list[float]:
    return [verify(morning, plan, prices).costs.total for plan in every_plan(morning)]


def _cheapest(morning: Morning) -> Lots | None:
    """Return the plan of a morning, held against all plans; None where there is none, which must be refused."""
    costs = _costs(morning)
    if not costs:
        with pytest.raises(LotsClashError):
            plan_lots(morning, PRICES)
        return None
    found = plan_lots(morning, PRICES)
    assert verify(morning, found.plan, PRICES).broken == ()
    assert found.costs.total == pytest.approx(min(costs), abs=NEAR)
    assert found.bound == pytest.approx(min(costs), abs=NEAR)
    assert found.proven
    return found


@settings(max_examples=40, deadline=None, derandomize=True)
@given(SEEDS)
def test_the_plan_is_the_cheapest_of_all_plans(seed: int) -> None:
    """A plan breaks no rule and costs what the cheapest of all costs; where there is none it is refused."""
    _cheapest(tiny(seed))


@settings(max_examples=20, deadline=None, derandomize=True)
@given(SEEDS)
def test_lots_that_are_out_at_one_time_share_no_rider(seed: int) -> None:
    """Where a lot pulls out before another is back, its riders have one horse in the two, at the least cost still."""
    morning = tiny(seed)
    one, two = morning.lots
    morning = replace(morning, lots=(replace(one, ends=two.starts + 1), two))
    if found := _cheapest(morning):
        ridden = [ride.rider for ride in found.plan.rides if ride.rider is not None]
        assert len(ridden) == len(set(ridden))


@settings(max_examples=30, deadline=None, derandomize=True)
@given(SEEDS)
def test_trying_few_columns_first_changes_no_answer(seed: int) -> None:
    """Narrowed to its likely columns at first, a morning has the same cost and a bound that is proven."""
    program = lot_model(tiny(seed), PRICES).program
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(narrowing, "SMALL", 0)
        found = narrowing.solve_narrowed(program)
    whole = solve(program)
    assert found.feasible == whole.feasible
    if whole.feasible:
        assert (found.objective, found.bound) == pytest.approx((whole.objective, whole.objective), abs=NEAR)
        assert found.proven


@settings(max_examples=40, deadline=None, derandomize=True)
@given(SEEDS, st.integers(0, 3))
def test_deciding_first_who_must_be_apart_changes_no_answer(seed: int, more: int) -> None:
    """Split by which lots have a horse that must be apart, a morning has the same proven cost, or no plan at all."""
    morning = tiny(seed)
    asked = (replace(one, apart=one.apart or one.number <= more) for one in morning.horses)
    model = lot_model(replace(morning, horses=tuple(asked)), PRICES)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(splitting, "SMALL", 0)
        patch.setattr(narrowing, "SMALL", 0)
        found = splitting.solve_split(model.program, model.k)
    whole = solve(model.program)
    assert found.feasible == whole.feasible
    if whole.feasible:
        assert (found.objective, found.bound) == pytest.approx((whole.objective, whole.objective), abs=NEAR)
        assert found.proven


@settings(max_examples=25, deadline=None, derandomize=True)
@given(SEEDS)
def test_without_a_rider_the_plan_is_disturbed_least(seed: int) -> None:
    """Among all plans without the rider none changes less, and none that changes as little costs less."""
    morning = replace(tiny(seed), stands=None)
    rider = morning.riders[0].number
    plans = list(every_plan(morning))
    left = replace(morning, riders=morning.riders[1:], pins=tuple(p for p in morning.pins if p.rider != rider))
    if not plans:
        return
    left = replace(left, stands=plans[-1])
    costs = [
        (verify(left, plan, changes_only(PRICES)).costs.total, verify(left, plan, PRICES).costs.total)
        for plan in every_plan(left)
    ]
    if not costs:
        with pytest.raises(LotsClashError):
            without(morning, plans[-1], rider, PRICES)
        return
    found = without(morning, plans[-1], rider, PRICES)
    verdict = verify(left, found.plan, changes_only(PRICES))
    assert verdict.broken == ()
    assert (verdict.costs.total, found.costs.total) == pytest.approx(min(costs), abs=NEAR)
    assert found.proven


@settings(max_examples=12, deadline=None, derandomize=True)
@given(SEEDS)
def test_what_a_rule_costs_is_the_difference_of_two_cheapest_plans(seed: int) -> None:
    """What relaxing a lot by one horse saves is the difference of the cheapest of all plans before and after."""
    morning = tiny(seed)
    before = _costs(morning)
    if not before:
        return
    (found,) = what_binds(morning, plan_lots(morning, PRICES), PRICES, [Rule("size", (1,))])
    one, two = morning.lots
    after = _costs(replace(morning, lots=(replace(one, most=one.most + 1), two)))
    assert found.saves == pytest.approx(min(before) - min(after), abs=NEAR)
    assert found.proven


def test_same_morning_and_seed_give_the_same_plan() -> None:
    """Solving twice gives one plan."""
    morning = invented(4, 24, 8, 4)
    assert plan_lots(morning, PRICES, seed=3) == plan_lots(morning, PRICES, seed=3)


def test_progress_closes_on_the_answer() -> None:
    """Every bound that was told is at most the cost of the answer, every best plan at least."""
    told: list[Progress] = []
    found = plan_lots(invented(1, 40, 12, 4), PRICES, watch=Watch(tell=told.append))
    assert told
    assert all(one.bound <= found.costs.total + NEAR and one.best >= found.costs.total - NEAR for one in told)
    assert told[-1].gap == pytest.approx(found.gap, abs=NEAR)


def test_a_stop_keeps_the_best_plan() -> None:
    """A search stopped at its first plan gives one that breaks no rule, with a bound that the cheapest is not below."""
    morning, best = invented(1, 40, 12, 4), []

    def stop() -> bool:
        return bool(best)

    def tell(told: Progress) -> None:
        best.extend([told.best] if told.best < float("inf") else [])

    found = plan_lots(morning, PRICES, watch=Watch(tell, stop))
    assert verify(morning, found.plan, PRICES).broken == ()
    cheapest = plan_lots(morning, PRICES)
    assert found.bound <= cheapest.costs.total + NEAR <= found.costs.total + 2 * NEAR
    assert found.proven == (found.gap <= NEAR)


def test_a_stop_before_any_plan_is_told() -> None:
    """Whoever stops at once is told that there is no plan yet."""
    with pytest.raises(StoppedEarlyError):
        plan_lots(invented(1, 40, 12, 4), PRICES, watch=Watch(stop=lambda: True))


def test_trouble_of_a_watcher_is_raised() -> None:
    """An error of the one who is told ends the search and is not swallowed."""

    def tell(_: Progress) -> None:
        raise LookupError("nobody listens")

    with pytest.raises(LookupError, match="nobody listens"):
        plan_lots(invented(1, 40, 12, 4), PRICES, watch=Watch(tell))


def test_nobody_at_all_is_an_empty_plan() -> None:
    """A morning without horses has a plan without rides that costs nothing."""
    found = plan_lots(Morning((), (), (), (), YOUNG), PRICES)
    assert found.plan == Plan()
    assert (found.costs.total, found.bound, found.proven) == (0, 0, True)


def test_more_horses_than_rides_is_a_clash() -> None:
    """121 horses do not go with ten riders in four lots, and it is that each must have a rider that clashes."""
    lots = tuple(Lot(j, 300 + 80 * j, 370 + 80 * j, 40) for j in range(4))
    many = Morning(tuple(Horse(h) for h in range(121)), tuple(Rider(r) for r in range(10)), lots, (), YOUNG)
    with pytest.raises(LotsClashError) as refused:
        plan_lots(many, PRICES)
    assert refused.value.rules == (("rider", ()),)
    assert "every horse" in str(refused.value)


GOOD = Morning((Horse(1), Horse(2)), (Rider(1), Rider(2)), (Lot(1, 360, 420, 4),), (Gallop(1, 2),), YOUNG)


@pytest.mark.parametrize(
    ("morning", "at_fault"),
    [
        (replace(GOOD, horses=(Horse(1), Horse(1))), "horse"),
        (replace(GOOD, riders=(Rider(1, -50.0),)), "weight of rider 1"),
        (replace(GOOD, riders=(Rider(1, float("nan")),)), "weight of rider 1"),
        (replace(GOOD, riders=(Rider(1), Rider(1))), "rider"),
        (replace(GOOD, lots=()), "lots"),
        (replace(GOOD, lots=(Lot(1, 420, 360, 4),)), "times of lot 1"),
        (replace(GOOD, lots=(Lot(1, 360, 420, -1),)), "most horses in lot 1"),
        (replace(GOOD, horses=(Horse(1, gallop=7),)), "gallop of horse 1"),
        (replace(GOOD, horses=(Horse(1, partners=(3,)),)), "partner of horse 1"),
        (replace(GOOD, horses=(Horse(1, partners=(1,)),)), "partner of horse 1"),
        (replace(GOOD, horses=(Horse(1, partners=(2,)), Horse(2, gallop=1))), "partner of horse 1"),
        (replace(GOOD, horses=(Horse(1, sex="mule"),)), "sex of horse 1"),
        (replace(GOOD, horses=(Horse(1, awkward=-1),)), "awkwardness of horse 1"),
        (replace(GOOD, riders=(Rider(1, hours=((500, 400),)),)), "hours of rider 1"),
        (replace(GOOD, stands=Plan((Ride(1), Ride(1)))), "horse in the plan that stands"),
    ],
)
def test_a_morning_that_cannot_be_is_refused(morning: Morning, at_fault: str) -> None:
    """What cannot be right is named before anything is solved."""
    with pytest.raises(MorningRefusedError) as refused:
        plan_lots(morning, PRICES)
    assert refused.value.field == at_fault


@pytest.mark.parametrize(
    ("morning", "field", "typed"),
    [
        (replace(GOOD, horses=(Horse(1, name="Sallow"), Horse(1, name="Sallow"))), "horse", "Sallow"),
        (replace(GOOD, riders=(Rider(1, -50.0, name="N. Hale"),)), "weight of N. Hale", "-50.0"),
        (replace(GOOD, riders=(Rider(1, hours=((500, 400),), name="N. Hale"),)), "hours of N. Hale", "500 to 400"),
        (replace(GOOD, gallops=(Gallop(1, -2, "Long Hill"),)), "most horses on Long Hill", "-2"),
        (replace(GOOD, horses=(Horse(1, sex="mule", name="Sallow"),)), "sex of Sallow", "mule"),
        (
            replace(GOOD, horses=(Horse(1, partners=(2,), name="Sallow"), Horse(2, gallop=1, name="Teasel"))),
            "partner of Sallow",
            "Teasel",
        ),
        (
            replace(GOOD, horses=(Horse(1, name="Sallow"),), pins=(Pin(1, 1, 7),)),
            "fixed by hand",
            "Sallow, lot 1, rider 7",
        ),
    ],
)
def test_a_refusal_speaks_of_horses_and_riders_by_name(morning: Morning, field: str, typed: str) -> None:
    """Where names are known a morning is refused by them, and numbers stand only for what is not there."""
    with pytest.raises(MorningRefusedError) as refused:
        plan_lots(morning, PRICES)
    assert (refused.value.field, refused.value.typed) == (field, typed)


def test_somebody_who_is_not_there_cannot_be_missed() -> None:
    """A rider of an unknown number is refused."""
    with pytest.raises(MorningRefusedError, match="nobody of this number"):
        without(GOOD, plan_lots(GOOD, PRICES).plan, 99, PRICES)


def test_a_morning_without_horses_costs_nothing_without_a_rider_too() -> None:
    """Where no horse goes out there is an empty plan, also without somebody who called in sick."""
    empty = replace(GOOD, horses=(), pins=(), stands=None)
    for found in (plan_lots(empty, PRICES), without(empty, Plan(), empty.riders[0].number, PRICES)):
        assert (found.plan, found.costs.total, found.proven) == (Plan(), 0.0, True)


def test_places_of_the_string_that_stands_are_kept() -> None:
    """Who stays in its lot follows as it stood; who is new goes beside its partner, else where one left or last."""
    lots = (Lot(1, 360, 420, 9), Lot(2, 440, 500, 9))
    horses = tuple(Horse(n, order=n, partners=(4,) if n == 6 else ()) for n in range(1, 8))
    morning = Morning(horses, tuple(Rider(n) for n in range(1, 8)), lots, (), YOUNG)
    stands = Plan((Ride(5, 1, 1, 1), Ride(2, 1, 2, 2), Ride(4, 1, 3, 3), Ride(1, 1, 4, 4), Ride(3, 2, 5, 1)))
    new = [Ride(5, 1, 1), Ride(4, 1, 3), Ride(1, 1, 4), Ride(2, 2, 2), Ride(3, 1, 5), Ride(6, 1, 6), Ride(7, 1, 7)]
    plan = in_string_order(morning, new, stands)
    assert [ride.horse for ride in plan.rides] == [5, 3, 4, 6, 1, 7, 2]
    assert [ride.place for ride in plan.rides] == [1, 2, 3, 4, 5, 6, 1]
    assert verify(morning, plan, PRICES).broken == ()
