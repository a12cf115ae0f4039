"""Who rides what in which lot: the cheapest plan of a morning with its proof, and the nearest one without a rider."""

from dataclasses import dataclass, replace

import numpy as np

from upsides.errors import LotsClashError, MorningRefusedError, StoppedEarlyError
from upsides.errors.wording import gettext as _
from upsides.planning.checking import check
from upsides.planning.clashing import clash
from upsides.planning.lot_model import LotModel, lot_model
from upsides.planning.morning import Morning, Pin, Plan
from upsides.planning.prices import Parts, changes_only
from upsides.planning.solving import NEAR, Solved, Watch, solve
from upsides.planning.splitting import solve_split
from upsides.planning.string_order import in_string_order
from upsides.planning.verifying import verify


@dataclass(frozen=True, slots=True)
class Lots:
    """A plan of lots, and how good it is.

    Attributes:
        plan: the rides.
        amounts: how often it departs from each wish.
        costs: the same in minutes.
        bound: no plan costs less, minutes.
    """

    plan: Plan
    amounts: Parts
    costs: Parts
    bound: float

    @property
    def gap(self) -> float:
        """Minutes by which the plan may be above the cheapest there is."""
        return max(self.costs.total - self.bound, 0.0)

    @property
    def proven(self) -> bool:
        """Whether no plan costs less."""
        return self.gap <= NEAR


def plan_lots(morning: Morning, prices: Parts, *, seed: int = 0, watch: Watch | None = None) -> Lots:
    """Return the cheapest plan of a morning.

    Raises:
        MorningRefusedError: the morning cannot be right.
        LotsClashError: no plan keeps all rules; it names some that clash.
        StoppedEarlyError: it was stopped before there was a plan.
    """
    check(morning)
    if not morning.horses:
        return Lots(Plan(), Parts(), Parts(), 0.0)
    model = lot_model(morning, prices)
    return _lots(model, _found(model, seed, watch))


def without(
    morning: Morning, plan: Plan, rider: int, prices: Parts, *, seed: int = 0, watch: Watch | None = None
) -> Lots:
    """Return the plan without a rider that disturbs the one that stands least, and among those the cheapest.

    Disturbance is what `prices` says of horses with another rider, in another lot, or left on the walker. The bound is
    that of the cost among plans that disturb as little.

    Raises:
        MorningRefusedError: the rider is not there this morning.
        LotsClashError, StoppedEarlyError: as `plan_lots`.
    """
    check(morning)
    if rider not in {one.number for one in morning.riders}:
        raise MorningRefusedError(
            _("rider"), rider, _("nobody of this number rides this morning"), _("name one who does")
        )
    if not morning.horses:
        return Lots(Plan(), Parts(), Parts(), 0.0)
    left = replace(
        morning,
        riders=tuple(one for one in morning.riders if one.number != rider),
        pins=tuple(pin for pin in morning.pins if pin.rider != rider),
        stands=plan,
    )
    check(left)
    if (near := _only_theirs(left, plan, rider, prices, seed, watch)) is not None:
        return near
    least = lot_model(left, changes_only(prices))
    first = _found(least, seed, watch)
    model = lot_model(left, prices)
    # the same columns in the same order come first in both programs, and changes cost on those only
    n = np.concatenate(least.program.cost).size
    model.program.row_of(
        np.arange(n), np.concatenate(least.program.cost), high=first.objective - least.program.offset + NEAR
    )
    return _lots(model, _found(model, seed, watch))


def _only_theirs(left: Morning, plan: Plan, rider: int, prices: Parts, seed: int, watch: Watch | None) -> Lots | None:
    """Return the cheapest plan in which only the rider's own horses change, and only their riders; None for none.

    Each of those horses must change its rider at the least, so that no plan disturbs less, and any that disturbs as
    little is one of these, as long as every change has a price.
    """
    horses = {one.number for one in left.horses}
    if min(prices.change_rider, prices.change_lot) <= 0 or horses != set(plan.of_horse()):
        return None
    fixed = tuple(
        Pin(ride.horse, ride.lot, None if ride.rider == rider else ride.rider)
        for ride in plan.rides
        if ride.lot is not None
    )
    lots = tuple(replace(one, most=min(one.most, _in_lot(plan, one.number))) for one in left.lots)
    model = lot_model(replace(left, pins=fixed, lots=lots), prices)
    found = solve(model.program, seed=seed, watch=watch)
    if found.values is None or not found.feasible:
        return None
    then = _lots(replace(model, morning=left), found)
    return then if not verify(left, then.plan, prices).broken else None


def _in_lot(plan: Plan, number: int) -> int:
    return sum(ride.lot == number for ride in plan.rides)


def _found(model: LotModel, seed: int, watch: Watch | None) -> Solved:
    found = solve_split(model.program, model.k, seed=seed, watch=watch)
    if not found.feasible:
        at_fault = clash(model.morning, seed=seed).told(lambda rule: (rule.kind, rule.of))
        raise LotsClashError(at_fault.sets, at_fault.without, any_one=at_fault.any_one)
    if found.values is None:
        raise StoppedEarlyError
    return found


def _lots(model: LotModel, found: Solved) -> Lots:
    """Return the plan of a solution, priced by the verifier."""
    if found.values is None:
        raise StoppedEarlyError
    plan = in_string_order(model.morning, model.rides(found.values), model.morning.stands)
    verdict = verify(model.morning, plan, model.prices)
    return Lots(plan, verdict.amounts, verdict.costs, found.bound)
