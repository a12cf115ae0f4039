"""The order of the string within each lot: as it stands, else that of the barns, partners beside each other."""

from collections.abc import Iterable, Mapping

from upsides.planning.morning import Morning, Plan, Ride


def groups_of(morning: Morning) -> dict[int, int]:
    """Return for each horse the lowest number among all that work together with it, directly or through others."""
    found = {horse.number: horse.number for horse in morning.horses}

    def first(number: int) -> int:
        while found[number] != number:
            number = found[number]
        return number

    for one, other in morning.pairs:
        low, high = sorted((first(one), first(other)))
        found[high] = low
    return {number: first(number) for number in found}


def in_string_order(morning: Morning, rides: Iterable[Ride], stands: Plan | None = None) -> Plan:
    """Return a plan of the rides, each lot's places counted from 1, those on the walker last.

    Horses that stay in their lot of the plan that stands follow each other as there; who is new in a lot goes beside
    its partner, else in a place that somebody left, else at the end. Without a plan that stands it is the barns' order.
    """
    lots = {lot.number: place for place, lot in enumerate(morning.lots)}
    order = {horse.number: (horse.order, horse.number) for horse in morning.horses}
    group = groups_of(morning)
    lead: dict[int, tuple[int, int]] = {}
    for number, of in group.items():
        lead[of] = min(lead.get(of, order[number]), order[number])
    by_lot: dict[int | None, list[Ride]] = {}
    all_rides = sorted(rides, key=lambda ride: (lead[group[ride.horse]], group[ride.horse], order[ride.horse]))
    for ride in all_rides if stands is None else _as_it_stands(all_rides, group, stands):
        by_lot.setdefault(ride.lot, []).append(ride)
    placed = [
        Ride(ride.horse, ride.lot, ride.rider, place if number is not None else None)
        for number, own in sorted(by_lot.items(), key=lambda one: len(lots) if one[0] is None else lots[one[0]])
        for place, ride in enumerate(own, start=1)
    ]
    return Plan(tuple(placed))


def _as_it_stands(rides: Iterable[Ride], group: Mapping[int, int], stands: Plan) -> list[Ride]:
    """Return rides in the order of their places in the plan that stands; those given first are slotted in first."""
    rides, before = list(rides), stands.of_horse()
    at = {ride.horse: (ride.lot, group[ride.horse]) for ride in rides}
    own = {ride.horse: before[ride.horse].place or 0 for ride in rides if _stays(ride, before)}
    left = [ride for ride in stands.rides if ride.horse not in own]
    free = {ride.lot: sorted(one.place or 0 for one in left if one.lot == ride.lot) for ride in left}
    place: dict[tuple[int | None, int], int] = {}
    for horse, number in own.items():
        place[at[horse]] = min(place.get(at[horse], number), number)
    for ride in rides:
        if at[ride.horse] not in place:
            place[at[ride.horse]] = free[ride.lot].pop(0) if free.get(ride.lot) else len(stands.rides) + 1
    return sorted(rides, key=lambda ride: (place[at[ride.horse]], own.get(ride.horse, len(stands.rides) + 1)))


def _stays(ride: Ride, before: Mapping[int, Ride]) -> bool:
    return ride.horse in before and before[ride.horse].lot == ride.lot
