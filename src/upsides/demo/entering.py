"""Who is entered for a race: horses that may run, by their trainers' habits and ideas of their trips."""

from datetime import date

import numpy as np
from numpy.typing import NDArray

from upsides.demo.condition import week_of
from upsides.demo.courses import Course
from upsides.demo.horses import Floats, Ints, trainers_on
from upsides.demo.programme import Conditions
from upsides.demo.trainers import of_habit
from upsides.demo.world import World

_TRIP_OCTAVES = 0.16
_FARTHEST_OCTAVES = 0.42
_READINESS = 0.75
_UNTRIED = 0.6
"""What distance off the trip counts for among two-year-olds, whose trips nobody knows yet."""


def habits_on(world: World, which: Ints, day: date) -> Ints:
    """Return the habit of the trainer that each horse is with on a day, shape of `which`."""
    return world.people.habits[trainers_on(world.horses, day.toordinal())[which]]


def free(world: World, day: date) -> Ints:
    """Return the horses that their trainers would run on a day at all: trained, ready, long enough after a run."""
    horses, today = world.horses, day.toordinal()
    habit = habits_on(world, np.arange(len(horses.names)), day)
    slow = np.maximum(0.0, 1 / horses.constitution - 1)
    gap = of_habit("gap_days")[habit] * (1 + of_habit("waits")[habit] * slow)
    able = (horses.starts <= today) & (horses.ends > today) & (today - world.record.last >= gap)
    return np.flatnonzero(able & world.condition.ready[:, week_of(world.condition, day)])


def appetite(world: World, which: Ints, race: Conditions, course: Course, day: date) -> Floats:
    """Return each horse's appetite for a race, 0 where it may not or would not be entered.

    Args:
        world: the world so far.
        which: horses that are free, shape (n,).
        race: the conditions.
        course: where.
        day: when.

    Returns:
        Appetite, shape (n,), at least 0.
    """
    habit = habits_on(world, which, day)
    age = day.year - world.horses.foaled[which]
    octaves = np.log2(race.trip.distance_m / world.record.meant_m[which]) * (_UNTRIED if race.oldest == 2 else 1.0)
    fits = (age >= race.youngest) & (age <= race.oldest) & (np.abs(octaves) < _FARTHEST_OCTAVES)
    fits &= _qualified(world, which, race, of_habit("above_lb")[habit])
    wish = of_habit("keenness")[habit] * np.exp(-0.5 * (octaves / _TRIP_OCTAVES) ** 2)
    if course.surface == "synthetic":
        wish = wish * of_habit("likes_synthetic")[habit]
    return np.where(fits, wish, 0.0)


def enter(
    rng: np.random.Generator, world: World, which: Ints, race: Conditions, course: Course, day: date
) -> NDArray[np.int64]:
    """Return the horses entered for a race out of those that are free: the keenest, as many as there is room for."""
    wish = appetite(world, which, race, course, day)
    willing = np.flatnonzero(rng.random(wish.size) < _READINESS * wish)
    by_zeal = willing[np.argsort(-wish[willing] * rng.random(willing.size))]
    return which[by_zeal[: race.room]]


def _qualified(world: World, which: Ints, race: Conditions, above_lb: Floats) -> NDArray[np.bool_]:
    record = world.record
    wins, runs, mark = record.wins[which], record.runs[which], record.mark[which]
    if race.kind == "maiden":
        return np.asarray((wins == 0) & (runs < 12))
    if race.kind == "novice":
        return np.asarray((wins <= 2) & (runs < 9))
    if race.band is None:
        return np.where(np.isnan(mark), above_lb > 5, mark >= 84 - above_lb)
    within = (mark >= race.band[0] - 4 - above_lb) & (mark <= race.band[1])
    return np.asarray(within & ~np.isnan(mark))
