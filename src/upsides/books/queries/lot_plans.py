"""Plans of lots that a worker made, as they were known at a moment, and whether one is being made."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from itertools import pairwise

from upsides.books.diary.work import Ordered
from upsides.books.lot_answers import PlannedLots, name_of, read_lots
from upsides.books.models import Answer, Job
from upsides.books.queries.lot_morning import OVER, Gathered
from upsides.books.queries.moments import Moment
from upsides.planning.morning import Plan, Ride


@dataclass(frozen=True, slots=True)
class KeptPlan:
    """A plan, its number in the books, and when it was made."""

    number: int
    made: datetime
    lots: PlannedLots


def plan_of(moment: Moment, day: date, without: int | None = None) -> KeptPlan | None:
    """Return the last plan of a morning, or of it without a rider; None where nobody made one."""
    found = Answer.objects.filter(name=name_of(without), day=day)
    known = found if moment.at is None else found.filter(recorded_at__lte=moment.at)
    row = known.order_by("-recorded_at", "-pk").first()
    return KeptPlan(row.pk, row.recorded_at, read_lots(row.values)) if row is not None else None


def plan_numbered(number: int, day: date) -> KeptPlan | None:
    """Return a plan of a morning by its number in the books; None where there is none."""
    row = Answer.objects.filter(pk=number, day=day, name__startswith=name_of(None)).first()
    return KeptPlan(row.pk, row.recorded_at, read_lots(row.values)) if row is not None else None


def asked_for(day: date, without: int | None = None) -> Job | None:
    """Return the job that makes a plan, or the last that ended without one; None for neither."""
    last = Job.objects.filter(kind="lots", arguments=wanted(day, without)).order_by("-asked_at", "-pk").first()
    return last if last is not None and last.state != Job.State.DONE else None


def wanted(day: date, without: int | None = None) -> dict[str, object]:
    """Return the arguments of the job that plans a morning, or it without a rider."""
    return {"day": str(day)} | ({} if without is None else {"without": without})


def as_planned(order: Ordered, ride: Ride) -> Ordered:
    """Return an order with the lot, place and rider of a plan; one that nobody rides goes on the walker."""
    if ride.lot is None:
        return Ordered("walker", text=order.text)
    return replace(order, lot=ride.lot, place=ride.place, rider=ride.rider)


def orders_as_planned(found: Gathered, plan: Plan) -> dict[int, Ordered]:
    """Return the order of each horse of a plan, by its number; horses that stay in their lot keep their places there.

    Their places are written anew only where the plan has them in another order, or where who is new in the lot pushes
    them on.
    """
    by_lot: dict[int | None, list[Ride]] = {}
    for ride in sorted(plan.rides, key=lambda ride: ride.place or 0):
        by_lot.setdefault(ride.lot, []).append(ride)
    return {
        ride.horse: as_planned(found.rides[ride.horse].order, replace(ride, place=place))
        for lot, rides in by_lot.items()
        for ride, place in zip(rides, _places(found, lot, rides), strict=True)
    }


def _places(found: Gathered, lot: int | None, rides: Sequence[Ride]) -> list[int | None]:
    """Return the places of a lot's rides, given in their order."""
    if lot is None:
        return [None] * len(rides)
    was = [ride.horse for ride in found.listed.rides if ride.lot == lot]
    stay = {ride.horse: _place(found.rides[ride.horse].order) for ride in rides if ride.horse in was}
    if [ride.horse for ride in rides] == [horse for horse in was if horse in stay]:
        return [place or None for place in stay.values()]
    if any(one >= other for one, other in pairwise([0, *stay.values()])):
        return [ride.place for ride in rides]
    places: list[int | None] = []
    last = 0
    for ride in rides:
        last = max(last + 1, stay.get(ride.horse, 0))
        places.append(last)
    return places


def _place(order: Ordered) -> int:
    return int(order.place or 0)


def left_to_take(found: Gathered, plan: Plan) -> Plan:
    """Return a plan without what is so already and no more of the morning.

    Those are horses that stay in and are ordered to, and those that went out as the plan has them.
    """
    over = {one.horse for one in found.left_out if one.why in OVER}

    def so(ride: Ride) -> bool:
        there = found.rides.get(ride.horse)
        if there is None:
            return False
        if ride.horse in over:
            return (there.order.lot, there.order.rider) == (ride.lot, ride.rider)
        return ride.lot is None and there.order == as_planned(there.order, ride)

    return Plan(tuple(ride for ride in plan.rides if not so(ride)))
