"""A plan held against every rule of its morning and priced anew, without a solver and one ride at a time."""

from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from upsides.planning.morning import Horse, Lot, Morning, Pin, Plan, Ride, Rider
from upsides.planning.prices import Parts
from upsides.planning.rule import Rule
from upsides.planning.shares import due_lots, fair_share
from upsides.planning.string_order import groups_of


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a plan comes to.

    Attributes:
        broken: rules that it breaks, each once; none for a plan that stands.
        amounts: how often it departs from each wish.
        costs: the same in minutes.
    """

    broken: tuple[Rule, ...]
    amounts: Parts
    costs: Parts


def verify(morning: Morning, plan: Plan, prices: Parts) -> Verdict:
    """Return which rules a plan breaks, and what it costs by part."""
    if unknown := set(_unknown(morning, plan)):
        return Verdict(tuple(sorted(unknown)), Parts(), Parts())
    broken = {*_of_rides(morning, plan), *_of_riders(morning, plan), *_of_lots(morning, plan), *_of_pins(morning, plan)}
    counted = amounts(morning, plan)
    return Verdict(tuple(sorted(broken)), counted, counted.times(prices))


def _unknown(morning: Morning, plan: Plan) -> Iterator[Rule]:
    """Yield what a plan names that the morning does not have, and horses that it leaves out or names twice."""
    times = Counter(ride.horse for ride in plan.rides)
    horses = {horse.number for horse in morning.horses}
    lots, riders = {lot.number for lot in morning.lots}, {rider.number for rider in morning.riders}
    yield from (Rule("unknown", (number,)) for number in times if number not in horses)
    yield from (Rule("once", (number,)) for number in horses if times[number] != 1)
    for ride in plan.rides:
        stays = ride.lot is None and ride.rider is None and ride.place is None
        goes = ride.lot in lots and ride.rider in riders and ride.place is not None
        if not (stays or goes):
            yield Rule("unknown", (ride.horse,))


def _of_rides(morning: Morning, plan: Plan) -> Iterator[Rule]:
    """Yield what is wrong with a horse, its rider and its lot."""
    riders = {rider.number: rider for rider in morning.riders}
    lots = {lot.number: lot for lot in morning.lots}
    rides = plan.of_horse()
    for horse in morning.horses:
        ride = rides[horse.number]
        if ride.lot is None or ride.rider is None:
            if not horse.walker:
                yield Rule("rider")
        else:
            yield from _of_pair(morning, horse, riders[ride.rider], lots[ride.lot])
    for one, other in morning.pairs:
        if rides[one].lot != rides[other].lot:
            yield Rule("partners", (one, other))
    for one, other in morning.foes:
        if rides[one].lot is not None and rides[one].lot == rides[other].lot:
            yield Rule("not_with", (one, other))


def _of_pair(morning: Morning, horse: Horse, rider: Rider, lot: Lot) -> Iterator[Rule]:
    if rider.weight_kg is None and horse.carries_kg != float("inf"):
        yield Rule("weight", (horse.number,))
    if rider.weight_kg is not None and rider.weight_kg > horse.carries_kg:
        yield Rule("weight", (horse.number,))
    if rider.number in horse.not_by:
        yield Rule("not_by", (horse.number,))
    if lot.number in rider.barred:
        yield Rule("law", (rider.number,))
    if rider.skill < horse.asks:
        yield Rule("skill", (horse.number,))
    within = any(start <= lot.starts and lot.ends <= end for start, end in rider.hours)
    if not within or (rider.lots is not None and lot.number not in rider.lots):
        yield Rule("hours", (rider.number,))
    young = morning.young
    if rider.young and (horse.asks > young.asks or lot.starts < young.earliest or horse.exercise in young.exercises):
        yield Rule("young", (rider.number,))


def _of_riders(morning: Morning, plan: Plan) -> Iterator[Rule]:
    """Yield riders with two horses at once or too many in all."""
    lots = {lot.number: lot for lot in morning.lots}
    out = [(ride.rider, lots[ride.lot]) for ride in plan.rides if ride.rider is not None and ride.lot is not None]
    at_once = Counter((rider, at.number) for rider, own in out for at in morning.lots if own.out_with(at))
    yield from {Rule("twice", (rider,)) for (rider, _), times in at_once.items() if times > 1}
    rode = Counter(ride.rider for ride in plan.rides)
    for rider in morning.riders:
        if rode[rider.number] > rider.most:
            yield Rule("most", (rider.number,))
        if rider.young and rode[rider.number] > morning.young.lots:
            yield Rule("young", (rider.number,))


def _of_lots(morning: Morning, plan: Plan) -> Iterator[Rule]:
    """Yield lots and gallops that are too full, horses that should be apart, and strings out of order."""
    horses, group = {horse.number: horse for horse in morning.horses}, groups_of(morning)
    for lot in morning.lots:
        rides = [ride for ride in plan.rides if ride.lot == lot.number]
        own = [horses[ride.horse] for ride in rides]
        if len(own) > lot.most:
            yield Rule("size", (lot.number,))
        used = Counter(horse.gallop for horse in own)
        yield from (Rule("gallop", (g.number,)) for g in morning.gallops if used[g.number] > g.most)
        sexes = {horse.sex for horse in own}
        for horse in own:
            if horse.apart and {"colt": "filly", "filly": "colt"}.get(horse.sex) in sexes:
                yield Rule("apart", (horse.number,))
        if not _in_order(rides, group):
            yield Rule("string", (lot.number,))


def _in_order(rides: list[Ride], group: dict[int, int]) -> bool:
    """Return whether places run from 1 without a gap, and horses that work together are beside each other."""
    places = sorted((ride.place or 0, group[ride.horse]) for ride in rides)
    changes = sum(one[1] != other[1] for one, other in pairwise(places))
    gapless = [place for place, _ in places] == list(range(1, len(places) + 1))
    return gapless and changes == max(len({of for _, of in places}) - 1, 0)


def _of_pins(morning: Morning, plan: Plan) -> Iterator[Rule]:
    rides = plan.of_horse()
    for pin in morning.pins:
        if not _holds(pin, rides[pin.horse]):
            yield Rule("pin", (pin.horse,))


def _holds(pin: Pin, ride: Ride) -> bool:
    return pin.lot in {None, ride.lot} and pin.rider in {None, ride.rider}


def amounts(morning: Morning, plan: Plan) -> Parts:
    """Return how often a plan departs from each wish."""
    horses = {horse.number: horse for horse in morning.horses}
    out = [ride for ride in plan.rides if ride.lot is not None]
    points: Counter[int] = Counter()
    saddles: defaultdict[int, set[str]] = defaultdict(set)
    for ride in out:
        if ride.rider is not None:
            points[ride.rider] += horses[ride.horse].awkward
            saddles[ride.rider].add(horses[ride.horse].saddle)
    share, due = fair_share(morning), due_lots(morning)
    place = {lot.number: i for i, lot in enumerate(morning.lots)}
    stood = morning.stands.of_horse() if morning.stands is not None else {}
    both = [(ride, stood[ride.horse]) for ride in plan.rides if ride.horse in stood]
    return Parts(
        usual=sum(horses[ride.horse].usual not in {None, ride.rider} for ride in out),
        awkward=sum(max(own - share, 0) for own in points.values()),
        saddle=sum(len(own) - 1 for own in saddles.values()),
        barn_order=sum(abs(place[ride.lot] - due[ride.horse]) for ride in out if ride.lot is not None),
        walker=len(plan.rides) - len(out),
        change_rider=sum(now.rider != before.rider for now, before in both),
        change_lot=sum(now.lot != before.lot for now, before in both),
    )
