"""The order of the string within each lot: that of the barns, horses that work together beside each other."""

from collections.abc import Iterable

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


def in_string_order(morning: Morning, rides: Iterable[Ride]) -> Plan:
    """Return a plan of the rides, each lot's places counted from 1, those on the walker last."""
    lots = {lot.number: place for place, lot in enumerate(morning.lots)}
    order = {horse.number: (horse.order, horse.number) for horse in morning.horses}
    group = groups_of(morning)
    lead: dict[int, tuple[int, int]] = {}
    for number, of in group.items():
        lead[of] = min(lead.get(of, order[number]), order[number])
    by_lot: dict[int | None, list[Ride]] = {}
    for ride in sorted(rides, key=lambda ride: (lead[group[ride.horse]], group[ride.horse], order[ride.horse])):
        by_lot.setdefault(ride.lot, []).append(ride)
    placed = [
        Ride(ride.horse, ride.lot, ride.rider, place if number is not None else None)
        for number, own in sorted(by_lot.items(), key=lambda one: len(lots) if one[0] is None else lots[one[0]])
        for place, ride in enumerate(own, start=1)
    ]
    return Plan(tuple(placed))
