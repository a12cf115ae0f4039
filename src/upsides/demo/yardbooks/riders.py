"""Who may ride which horse of the invented yard, by the rules of its own books, and who usually does."""

from dataclasses import dataclass
from typing import Final

import numpy as np
import polars as pl

from upsides.demo.yardbooks.grid import Bools, Floats, Ints
from upsides.demo.yardbooks.staff import Staff
from upsides.planning.defaults import Defaults, read_defaults
from upsides.planning.morning import Young
from upsides.planning.prices import read_settings

MOST_LOTS: Final = 9
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
        jockeys: who comes to ride work on the work mornings, (people,).
        usual: who usually rides each horse, (horses,).
    """

    may: Bools
    young: Bools
    within: Bools
    room: int
    fast: bool
    jockeys: Bools
    usual: Ints


def riders_of(staff: Staff, needs: Ints, carries_kg: Floats, today: int, here: Bools) -> Riders:
    """Return who may ride.

    Args:
        staff: the people.
        needs: the least skill, a horse each.
        carries_kg: the heaviest rider, likewise.
        today: days since the epoch.
        here: whether the yard had the horse, (horses, days).
    """
    defaults, (_prices, young) = read_defaults(), read_settings()
    skill, kilos = staff.people["skill"].to_numpy(), staff.people["weight_kg"].fill_null(np.inf).to_numpy()
    born = staff.people["born"].to_physical().fill_null(-(10**6)).to_numpy()
    is_young = today - born < _GROWN_DAYS
    may = (skill[:, None] >= needs) & (kilos[:, None] <= carries_kg) & (~is_young[:, None] | (needs <= young.asks))
    jockeys = staff.people["minimum_lb"].is_not_null().to_numpy()
    regular = staff.rides.any(axis=1) & ~jockeys & ~is_young
    return Riders(
        may,
        is_young,
        _within(staff, defaults, young, is_young),
        min(defaults.most, defaults.gallop_most),
        "fast" not in young.exercises,
        jockeys,
        _usual(may & regular[:, None], skill, needs, here),
    )


def _usual(may: Bools, skill: Ints, needs: Ints, here: Bools) -> Ints:
    """Return who usually rides each horse: who may, has fewest when it comes, and is no abler than need be."""
    found = np.full(needs.size, -1)
    came = here.argmax(axis=1)
    for horse in np.lexsort((np.arange(needs.size), -needs, came)).tolist():
        able = np.flatnonzero(may[:, horse])
        if able.size:
            there = found[here[:, came[horse]] & (found >= 0)]
            load = np.bincount(there, minlength=skill.size)[able]
            found[horse] = able[np.lexsort((able, skill[able] - needs[horse], load))[0]]
    return found


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
