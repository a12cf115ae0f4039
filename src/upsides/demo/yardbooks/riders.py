"""Who rides which horse in a lot of the invented yard, by the rules that its own books hold plans of lots to."""

from dataclasses import dataclass
from typing import Final

import numpy as np
import polars as pl
from scipy.optimize import linear_sum_assignment

from upsides.demo.yardbooks.grid import Bools, Floats, Ints
from upsides.demo.yardbooks.staff import Staff
from upsides.planning.defaults import Defaults, read_defaults
from upsides.planning.morning import Young
from upsides.planning.prices import read_settings

MOST_LOTS: Final = 9
_NEVER, _OUT_OF_HOURS, _ANOTHER = 1e6, 1e3, 1.0
"""What it costs that somebody rides a horse: one who may not, one who is not there yet or has left, any other than was
dealt to it. In a morning of more lots than the yard has people for, some stay on for the last."""
_GROWN_DAYS: Final = 18 * 365.25


@dataclass(frozen=True, slots=True)
class Riders:
    """Who may ride.

    Args:
        may: by weight and skill, (people, horses).
        young: under eighteen on the last day, (people,).
        within: whether a lot lies in the hours in which somebody rides, (people, weekdays, lots counted from 0).
        room: the most horses in a lot.
        fast: whether riders under eighteen ride fast work.
    """

    may: Bools
    young: Bools
    within: Bools
    room: int
    fast: bool


def riders_of(staff: Staff, needs: Ints, carries_kg: Floats, today: int) -> Riders:
    """Return who may ride.

    Args:
        staff: the people.
        needs: the least skill, a horse each.
        carries_kg: the heaviest rider, likewise.
        today: days since the epoch.
    """
    defaults, (_prices, young) = read_defaults(), read_settings()
    skill, kilos = staff.people["skill"].to_numpy(), staff.people["weight_kg"].fill_null(np.inf).to_numpy()
    born = staff.people["born"].to_physical().fill_null(-(10**6)).to_numpy()
    is_young = today - born < _GROWN_DAYS
    may = (skill[:, None] >= needs) & (kilos[:, None] <= carries_kg) & (~is_young[:, None] | (needs <= young.asks))
    return Riders(
        may,
        is_young,
        _within(staff, defaults, young, is_young),
        min(defaults.most, defaults.gallop_most),
        "fast" not in young.exercises,
    )


def _within(staff: Staff, defaults: Defaults, young: Young, is_young: Bools) -> Bools:
    found = np.zeros((staff.people.height, 7, MOST_LOTS), dtype=np.bool_)
    place = {name: i for i, name in enumerate(staff.logins)}
    lots = [defaults.lot(number) for number in range(1, MOST_LOTS + 1)]
    rides = staff.shifts.filter(pl.col("rides"))
    for name, weekday, starts, ends in rides.select("login", "weekday", "starts", "ends").rows():
        span = starts.hour * 60 + starts.minute, ends.hour * 60 + ends.minute
        found[place[name], weekday] |= [span[0] <= lot.starts and lot.ends <= span[1] for lot in lots]
    found[is_young] &= np.array([lot.starts >= young.earliest for lot in lots])
    return found


def seated(riders: Riders, dealt: Ints, people: Ints, horses: Ints, fast: Bools, weekday: int, lot: int) -> Ints:
    """Return who rides each horse of a lot, -1 for nobody who may: as dealt, with as few changes as the rules leave.

    Args:
        riders: who may ride.
        dealt: whom each horse was dealt, -1 for nobody.
        people: who rides that morning.
        horses: of the lot.
        fast: whether each works fast.
        weekday: Monday 0.
        lot: which, from 1.
    """
    bars = ~riders.may[np.ix_(people, horses)].T | (fast[:, None] & riders.young[people] & (not riders.fast))
    cost = np.where(bars, _NEVER, _ANOTHER * (people != dealt[:, None]))
    cost += _OUT_OF_HOURS * ~riders.within[people, weekday, lot - 1]
    cost += np.where(riders.young[people] & ~riders.within[people, weekday, lot - 1], _NEVER, 0.0)
    rows, columns = linear_sum_assignment(cost)
    found = np.full(horses.size, -1)
    found[rows] = np.where(cost[rows, columns] < _NEVER, people[columns], -1)
    return found


def kept_apart(horses: Ints, foes: Ints, room: int) -> Ints:
    """Return the order in which horses are dealt into lots with two that never go in one lot in two, where it can be.

    Args:
        horses: in their order.
        foes: the two, or none.
        room: horses in a lot.
    """
    at = np.flatnonzero(np.isin(horses, foes))
    if at.size < 2 or at[0] // room != at[1] // room or horses.size <= room:
        return horses
    other = at[1] + room if at[1] + room < horses.size else at[1] - room
    swapped = horses.copy()
    swapped[[at[1], other]] = horses[[other, at[1]]]
    return swapped
