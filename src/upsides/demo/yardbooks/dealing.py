"""A morning of the invented yard dealt into lots and riders: its usual rider for each horse, as far as may be."""

from collections.abc import Sequence
from typing import Final

import numpy as np
from scipy.optimize import linear_sum_assignment

from upsides.demo.yardbooks.grid import Bools, Floats, Ints
from upsides.demo.yardbooks.riders import MOST_LOTS, Riders

Pairs = Sequence[tuple[int, int]]
_NEVER, _OUT_OF_HOURS, _ANOTHER, _JOCKEY, _FURTHER = 1e6, 1e3, 1.0, -0.2, 0.02
"""What it costs that somebody rides a horse: one who may not, one who is not there yet or has left, another than its
usual rider, a jockey in fast work; and a lot further from where its work stands in the morning. In a morning of more
lots than the yard has people for, some stay on for the last."""
_APART: Final = 0.1
"""What a lot further costs two that work together, beside a usual rider of theirs who has another horse in it."""


def dealt(
    riders: Riders, people: Ints, horses: Ints, pairs: Pairs, fast: Bools, weekday: int, foes: Ints
) -> tuple[Ints, Ints]:
    """Return the lot of each horse, from 1, and its rider, -1 for nobody who may.

    Args:
        riders: who may ride, and who usually does.
        people: who rides that morning.
        horses: in the order of their work.
        pairs: places among the horses of two that work together.
        fast: whether each works fast.
        weekday: Monday 0.
        foes: the two horses that never go in one lot, or none.
    """
    room = max(min(people.size, riders.room), -(-horses.size // MOST_LOTS))
    count = -(-horses.size // room)
    wanted = np.arange(horses.size) // room
    usual = np.where(np.isin(riders.usual[horses], people), riders.usual[horses], -1)
    at = np.flatnonzero(np.isin(horses, foes)).tolist()
    fixed = _lots_of_pairs(pairs, wanted, usual, room, count, at)
    cost = _costs(riders, people, horses, fast, weekday, count)
    cost += _FURTHER * np.abs(wanted[:, None] - np.arange(count))[:, :, None]
    cost += _NEVER * ((fixed >= 0)[:, None] & (fixed[:, None] != np.arange(count)))[:, :, None]
    apart = _kept_apart(cost, fixed, wanted, at)
    seats = cost.reshape(horses.size, -1)
    rows, columns = linear_sum_assignment(np.vstack([seats, _empty(count, people.size, room)]))
    lot, rider = wanted.copy(), np.full(horses.size, -1)
    own = rows < horses.size
    rows, columns = rows[own], columns[own]
    may = seats[rows, columns] < _NEVER
    lot[rows], rider[rows] = columns // people.size, np.where(may, people[columns % people.size], -1)
    lot = np.where(fixed >= 0, fixed, lot)
    if apart and lot[apart[0]] == lot[apart[1]]:
        lot[apart[1]], rider[apart[1]] = (lot[apart[0]] + 1) % count, -1
    return lot + 1, rider


def _costs(riders: Riders, people: Ints, horses: Ints, fast: Bools, weekday: int, count: int) -> Floats:
    """Return what it costs that somebody rides a horse in a lot, (horses, lots, people)."""
    young = riders.young[people]
    bars = ~riders.may[np.ix_(people, horses)].T | (fast[:, None] & young & (not riders.fast))
    own = np.where(people == riders.usual[horses][:, None], 0.0, _ANOTHER)
    own = np.where(fast[:, None] & riders.jockeys[people], _JOCKEY, own) + _NEVER * bars
    out = ~riders.within[people, weekday, :count].T
    late: Floats = own[:, None, :] + (_OUT_OF_HOURS * out + _NEVER * (out & young))[None]
    return late


def _empty(count: int, people: int, room: int) -> Floats:
    """Return rows that take the seats beyond the room of each lot."""
    lots = np.repeat(np.arange(count), max(people - room, 0))
    return np.where(lots[:, None] == np.repeat(np.arange(count), people), 0.0, _NEVER)


def _lots_of_pairs(pairs: Pairs, wanted: Ints, usual: Ints, room: int, count: int, foes: list[int]) -> Ints:
    """Return the lot of those that work together, counted from 0, -1 for others: where their usual riders are free."""
    fixed, filled, barred = np.full(wanted.size, -1), [0] * count, -1
    busy: list[set[int]] = [set() for _ in range(count)]
    for one, other in pairs:
        riders, foe = {int(usual[one]), int(usual[other])} - {-1}, one in foes or other in foes
        free = [lot for lot in range(count) if filled[lot] + 2 <= room and not (foe and lot == barred)]
        if not free:
            continue
        at = min(free, key=lambda lot: len(riders & busy[lot]) + _APART * abs(lot - int(wanted[one])))
        fixed[[one, other]] = at
        filled[at] += 2
        busy[at] |= riders
        barred = at if foe else barred
    return fixed


def _kept_apart(cost: Floats, fixed: Ints, wanted: Ints, foes: list[int]) -> tuple[int, int] | None:
    """Bar one of two that never go in one lot from that of the other; return their places, the one that stays first."""
    if len(foes) < 2 or cost.shape[1] < 2:
        return None
    one, other = sorted(foes, key=lambda place: fixed[place] < 0)
    lot = fixed[one] if fixed[one] >= 0 else wanted[one]
    cost[one, np.arange(cost.shape[1]) != lot] += _NEVER
    cost[other, lot] += _NEVER
    return one, other
