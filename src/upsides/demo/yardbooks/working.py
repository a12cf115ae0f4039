"""The work of every horse on every day: exercise, gallop, lot, rider, who went upsides; with the truth's fast days."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from upsides.demo.morning_sim.strips import CHIP, SAND, TURF
from upsides.demo.morning_sim.strips import WALK as WALKED
from upsides.demo.yardbooks.dealing import dealt
from upsides.demo.yardbooks.events import BOX, NO_FAST, WALK, Events
from upsides.demo.yardbooks.going import Open
from upsides.demo.yardbooks.grid import EPOCH, MONDAY, SUNDAY, Bools, Floats, Grid, Ints
from upsides.demo.yardbooks.riders import Riders, riders_of
from upsides.demo.yardbooks.staff import Staff

EXERCISES: Final = ("", "off", "box", "led", "walker", "turned_out", "walk", "hack_canter", "steady_canter",
                    "half_speed", "fast", "race")  # fmt: skip
NONE, OFF, IN_BOX, LED, WALKER, PADDOCK, WALKS, HACK, STEADY, HALF, QUICK, RACE = range(12)
GALLOPS: Final = ("", CHIP, SAND, TURF, WALKED)
_STRIPS: Final = {name: place for place, name in enumerate(GALLOPS)}
FURLONG_M = 201.168
_STEADY_SHARE = 0.7
_SPRINTER_M, _STAYER_M = 1400, 2000
_YOUNG_DAYS = 150
"""A two-year-old does its fast work at half speed so long."""


@dataclass(frozen=True, slots=True)
class Work:
    """What every horse does on every day, (horses, days); today's is what is ordered.

    Args:
        exercise: place in `EXERCISES`.
        gallop: place in `GALLOPS`, 0 for none.
        furlongs: how far at that pace, 0 where it is not said.
        lot: which lot, 0 for none.
        place: its place in the string of that lot.
        rider: place of the rider among the staff, -1 for none.
        upsides: place of the horse that it worked with, -1 for none.
    """

    exercise: Ints
    gallop: Ints
    furlongs: Floats
    lot: Ints
    place: Ints
    rider: Ints
    upsides: Ints


@dataclass(frozen=True, slots=True)
class Nature:
    """What the yard goes by when it orders work, a horse each; and the two that never go in one lot, by place.

    Args:
        best_m, level_lb: best trip and level.
        skill, carries_kg: what a rider must be able to ride, and may weigh.
        foaled: year.
        foes: the two, or none.
    """

    best_m: Floats
    level_lb: Floats
    skill: Ints
    carries_kg: Floats
    foaled: Ints
    foes: Ints


def work_of(
    rng: np.random.Generator, grid: Grid, events: Events, fast: Bools, strips: Open, staff: Staff, nature: Nature
) -> Work:
    """Order the work of all days, and find riders for it."""
    exercise = _exercises(rng, grid, events, fast, nature)
    frozen = ~strips.sand & np.isin(exercise, (HACK, STEADY))
    exercise = np.where(frozen, WALKER, exercise)
    furlongs = _furlongs(rng, grid, exercise, nature)
    gallop = _gallops(grid, exercise, furlongs, strips)
    shape = exercise.shape
    lot, place = np.zeros(shape, dtype=np.int64), np.zeros(shape, dtype=np.int64)
    rider, upsides = np.full(shape, -1), np.full(shape, -1)
    ridden = np.isin(exercise, (WALKS, HACK, STEADY, HALF, QUICK))
    work = Work(exercise, gallop, furlongs, lot, place, rider, upsides)
    rules = riders_of(staff, nature.skill, nature.carries_kg, grid.first + grid.today - EPOCH, grid.here)
    for day in range(grid.today + 1):
        riders = np.flatnonzero(staff.rides[:, day])
        horses = np.flatnonzero(ridden[:, day])
        if horses.size and riders.size:
            _morning(rng, work, day, horses, riders, nature, rules, int(grid.weekday[day]))
    return work


def _exercises(rng: np.random.Generator, grid: Grid, events: Events, fast: Bools, nature: Nature) -> Ints:
    """Return what each horse does, from what matters least to what matters most."""
    shape, raced = grid.here.shape, grid.race_m > 0
    chance = rng.random(shape)
    found = np.where((chance < _STEADY_SHARE) & (grid.weekday != MONDAY), STEADY, HACK)
    day = grid.first + np.arange(grid.days)
    age = (1970 + (day - 719163).astype("datetime64[D]").astype("datetime64[Y]").astype(np.int64))[
        None, :
    ] - nature.foaled[:, None]
    came = np.where(grid.here.argmax(axis=1) > 0, grid.here.argmax(axis=1), -(10**6))[:, None]
    young = (age == 2) & (np.arange(grid.days) < came + _YOUNG_DAYS)
    new = grid.here & ~grid.at_work & ~grid.let_down
    found = np.where(new, np.where(chance < 0.5, WALKS, HACK), found)
    found = np.where(grid.let_down, np.where(chance < 0.6, WALKER, PADDOCK), found)
    before, after, second = (
        np.zeros(shape, dtype=np.bool_),
        np.zeros(shape, dtype=np.bool_),
        np.zeros(shape, dtype=np.bool_),
    )
    before[:, :-1], after[:, 1:], second[:, 2:] = raced[:, 1:], raced[:, :-1], raced[:, :-2]
    found = np.where(before | second, HACK, found)
    found = np.where(after, LED, found)
    found = np.where(grid.weekday == SUNDAY, OFF, found)
    found = np.where(fast, np.where(young, HALF, QUICK), found)
    for advice, instead in ((NO_FAST, HACK), (WALK, WALKS), (BOX, IN_BOX)):
        found = np.where((events.advice == advice) & ~((found == OFF) & (advice == NO_FAST)), instead, found)
    found = np.where(raced, RACE, found)
    return np.where(grid.here & ~events.turned_out, found, NONE)


def _furlongs(rng: np.random.Generator, grid: Grid, exercise: Ints, nature: Nature) -> Floats:
    """Return how far each goes, in halves of a furlong: fast work of 3 to 3.5 for sprinters, more for others."""
    best = nature.best_m[:, None]
    least = np.where(best < _SPRINTER_M, 3.0, np.where(best < _STAYER_M, 4.0, 6.0))
    most = np.where(best < _SPRINTER_M, 3.5, np.where(best < _STAYER_M, 5.0, 8.0))
    drawn = rng.random(exercise.shape)
    halves = np.select(
        [exercise == QUICK, exercise == HALF, exercise == STEADY, exercise == HACK],
        [least + drawn * (most - least), 3.0 + 2.0 * drawn, 8.0 + 4.0 * drawn, 5.0 + 2.0 * drawn],
        0.0,
    )
    return np.where(exercise == RACE, np.round(grid.race_m / FURLONG_M, 2), np.round(2 * halves) / 2)


def _gallops(grid: Grid, exercise: Ints, furlongs: Floats, strips: Open) -> Ints:
    """Return where each goes: fast work on the rising woodchip where it is long enough, else on turf or sand."""
    quick = np.isin(exercise, (QUICK, HALF))
    long_way = np.where(strips.turf & (grid.weekday != MONDAY), _STRIPS[TURF], _STRIPS[SAND])
    fast = np.where((furlongs <= 5) & strips.chip, _STRIPS[CHIP], long_way)
    canter = np.isin(exercise, (STEADY, HACK))
    return np.select([quick, canter, exercise == WALKS], [fast, _STRIPS[SAND], _STRIPS[WALKED]], 0)


def _morning(
    rng: np.random.Generator,
    work: Work,
    day: int,
    horses: Ints,
    people: Ints,
    nature: Nature,
    rules: Riders,
    weekday: int,
) -> None:
    """Deal one day's horses into lots and find their riders: fast work first, beside those of about the same level."""
    quick = work.exercise[horses, day] >= HALF
    kind = np.where(quick, work.gallop[horses, day] * 100 + work.furlongs[horses, day], 10**4)
    by = np.where(quick, nature.level_lb[horses], rng.random(horses.size))
    horses = horses[np.lexsort((by, kind))]
    pairs = _pairs(work, day, horses, nature.foes)
    fast = work.exercise[horses, day] == QUICK
    lot, work.rider[horses, day] = dealt(rules, people, horses, pairs, fast, weekday, nature.foes)
    work.lot[horses, day] = lot
    for one, other in pairs:
        if lot[one] == lot[other]:
            work.upsides[horses[[one, other]], day] = horses[[other, one]]
    for number in np.unique(lot):
        own = horses[lot == number]
        work.place[own, day] = np.arange(own.size) + 1


def _pairs(work: Work, day: int, horses: Ints, foes: Ints) -> list[tuple[int, int]]:
    """Return the places of those that go upsides: they stand next to each other with the same fast work."""
    told = np.stack([its[horses, day] for its in (work.exercise, work.gallop, work.furlongs)])
    same = (told[:, 1:] == told[:, :-1]).all(axis=0) & (told[0, 1:] >= HALF)
    foe = np.isin(horses, foes)
    found: list[tuple[int, int]] = []
    for i in np.flatnonzero(same & ~(foe[1:] & foe[:-1])).tolist():
        if not found or found[-1][1] < i:
            found.append((i, i + 1))
    return found
