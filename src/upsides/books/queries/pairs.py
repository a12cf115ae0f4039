"""Orders of horses that work upsides brought together: one lot, beside each other in the string, one gallop."""

from collections.abc import Mapping
from dataclasses import replace
from math import inf

from upsides.books.diary.work import Ordered


def in_pairs(found: Mapping[int, Ordered], there: Mapping[int, Ordered]) -> dict[int, Ordered]:
    """Return a day's orders with those that work upsides together; a partner that does something else is left out.

    Of two the one that is ordered already leads, else the one that has a lot, else the lower number. The other goes in
    its lot and to its gallop, with its own rider where that one has no other horse in the lot.

    Args:
        found: the orders that are offered, by number of the horse.
        there: what is ordered already, which stays as it is.
    """
    made = {number: there.get(number, order) for number, order in found.items()}
    pairs = {tuple(sorted((one, other))) for one, own in found.items() for other in own.upsides if other in found}
    behind: dict[int, int] = {}
    for pair in sorted(pairs):
        lead, other = sorted(pair, key=lambda one: (one not in there, made[one].lot is None, one))
        if not same_work(made[lead], made[other]):
            for one, apart in (pair, pair[::-1]):
                made[one] = replace(made[one], upsides=[number for number in made[one].upsides if number != apart])
        elif other not in there:
            said = (made[lead].gallop, made[other].gallop)
            gallop = next((one for one in said if one is not None), None)
            made[lead] = replace(made[lead], gallop=gallop)
            made[other] = replace(_in_lot_of(made, lead, other), gallop=gallop)
            behind[lead] = other
    return _in_places(made, behind, there) | {number: found[number] for number in there if number in found}


def same_work(one: Ordered, other: Ordered) -> bool:
    """Return whether two orders are of one exercise and, as far as both say it, one distance."""
    far = {order.furlongs for order in (one, other)} - {None}
    return one.exercise == other.exercise and len(far) <= 1


def _in_lot_of(made: Mapping[int, Ordered], lead: int, other: int) -> Ordered:
    """Return a horse's order in the lot of another, without its rider where that one has another horse there."""
    lot, order = made[lead].lot, made[other]
    busy = {own.rider for number, own in made.items() if own.lot == lot and number != other}
    return replace(order, lot=lot, place=made[lead].place, rider=None if order.rider in busy else order.rider)


def _in_places(made: dict[int, Ordered], behind: Mapping[int, int], there: Mapping[int, Ordered]) -> dict[int, Ordered]:
    """Return orders with the places of lots that have pairs counted anew, where none of the lot is ordered already."""
    fixed = {order.lot for order in there.values()}
    for lot in {made[lead].lot for lead in behind} - fixed - {None}:
        own = [number for number, order in made.items() if order.lot == lot and number not in behind.values()]
        string = sorted(own, key=lambda number: (made[number].place or inf, number))
        line = [each for one in string for each in (one, behind.get(one)) if each is not None]
        for place, number in enumerate(line, start=1):
            made[number] = replace(made[number], place=float(place))
    return made
