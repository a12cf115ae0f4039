"""Simulated yards whose trackers' readings hang on where, how and by whom horses were ridden.

What taking that out (`upsides.condition.monitoring.same_work`) does to the watch: how often it points where nothing is
wrong, and how soon it sees a horse whose heart comes down more slowly, or that goes slower at the same heart. All sizes
are invented. Riders are shared out anew half-way, as when some leave, which is what makes horses look changed.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from upsides.condition.monitoring.budget import Budget
from upsides.condition.monitoring.readings import Floats, Ints, Readings
from upsides.condition.monitoring.same_work import Worked, as_after_one
from upsides.condition.monitoring.watching import watch
from upsides.condition.troubles import (
    ANEW,
    BEGIN,
    HEART,
    RECOVERY,
    SPEED,
    START,
    STRIDE,
    WATCHED_DAYS,
    Yard,
    ordinary_yard,
)

RIDERS, USUAL, RISES = 12, 0.6, np.array([0.0, 0.01, 0.025])
ANEW_SHARED: Final = 220
"""Day on which horses get other riders."""
OFF: Final = (0, 10, 20, 30)
"""The horses that are off, one in each barn."""


@dataclass(frozen=True, slots=True)
class Does:
    """What circumstances do to a kind: how far riders, gallops and goings differ; by a unit of rise, and a degree."""

    rider: float
    gallop: float
    going: float
    rise: float
    heat: float


DOES: Final = {
    RECOVERY: Does(2.5, 1.0, 1.0, 200.0, 0.15),
    HEART: Does(0.5, 0.5, 1.0, 150.0, 0.05),
    SPEED: Does(0.03, 0.05, 0.10, -12.0, -0.005),
    STRIDE: Does(0.0, 0.02, 0.03, -3.0, 0.0),
}
NOTHING: Final = dict.fromkeys(DOES, Does(0.0, 0.0, 0.0, 0.0, 0.0))
SLOWER: Final = {
    "a heart that comes down worse by 9": (RECOVERY, 9.0), "a heart that comes down worse by 14": (RECOVERY, 14.0),
    "slower by 0.5 m/s at 200 beats": (SPEED, -0.5),
}  # fmt: skip
"""Troubles of single horses: the kind in which each shows, and by how much from some day on."""


@dataclass(frozen=True, slots=True, eq=False)
class Ridden:
    """A simulated yard with its circumstances: (horses, days) codes of gallop, going and rider, and heat, (days,)."""

    yard: Yard
    gallop: Ints
    going: Ints
    rider: Ints
    heat: Floats

    def readings(self, *, freed: bool) -> Readings:
        """Return what was read, as it is or with circumstances taken out, learned with the trouble's own days in."""
        read = self.yard.readings()
        if not freed:
            return read
        value = read.value.copy()
        for kind in DOES:
            part = read.of(kind)
            at = (read.horse[part], read.day[part] - START)
            places = (self.gallop[at], self.going[at], self.rider[at])
            exercise = np.zeros(at[0].size, dtype=np.int64)
            worked = Worked(exercise, None, RISES[places[0]], self.heat[at[1]], places)
            value[part] = as_after_one(at[0], value[part], worked)
        return replace(read, value=value)


def ridden_yard(seed: int, horses: int = 40, does: dict[int, Does] = DOES) -> Ridden:
    """Return a yard in which nothing is wrong, ridden here and there by one and another."""
    yard, rng = ordinary_yard(seed, horses), np.random.default_rng(seed + 500)
    shape = yard.value.shape[1:]
    usual = np.stack([rng.integers(0, RIDERS, horses) for _ in range(2)])[(np.arange(shape[1]) >= ANEW_SHARED) * 1].T
    rider = np.where(rng.random(shape) < USUAL, usual, rng.integers(0, RIDERS, shape)).astype(np.int64)
    gallop = rng.choice(RISES.size, shape, p=[0.2, 0.3, 0.5]).astype(np.int64)
    going = np.broadcast_to(rng.integers(0, 4, shape[1]), shape)
    heat = 10.0 + 8.0 * np.sin(np.arange(shape[1]) / 58.0) + rng.normal(0.0, 3.0, shape[1])
    for kind, one in does.items():
        sds = ((one.rider, RIDERS), (one.gallop, RISES.size), (one.going, 4))
        by = [rng.normal(0.0, sd, count) for sd, count in sds]
        yard.value[kind] += by[0][rider] + by[1][gallop] + by[2][going] + one.rise * RISES[gallop] + one.heat * heat
    return Ridden(yard, gallop, going, rider, heat)


@dataclass(frozen=True, slots=True)
class Told:
    """What the watch does over several yards, each as it is and with circumstances taken out.

    Attributes:
        ordinary: pointings a day at horses by `DOES` kinds where nothing is wrong.
        days: by trouble, mean days until a horse is seen; one that never is counts as `WATCHED_DAYS`.
        seen: by trouble, the share of its horses of which it is.
    """

    ordinary: float
    days: dict[str, float]
    seen: dict[str, float]


def compare_freed(seeds: Sequence[int], horses: int = 40, does: dict[int, Does] = DOES) -> tuple[Told, Told]:
    """Return what the watch does with readings as they are, and with circumstances taken out.

    Args:
        seeds: of the yards.
        horses: in each.
        does: what circumstances truly do.
    """
    as_is, freed = (_told([ridden_yard(seed, horses, does) for seed in seeds], freed=one) for one in (False, True))
    return as_is, freed


def _told(yards: Sequence[Ridden], *, freed: bool) -> Told:
    budget = Budget(yards[0].yard.barn.size / 120.0, 0.1)
    pointings, late = 0, {name: list[int]() for name in SLOWER}
    for one in yards:
        pointings += _pointed(one, budget, list(DOES), freed=freed)[1].size
        for name, (kind, by) in SLOWER.items():
            off = replace(one, yard=replace(one.yard, value=one.yard.value.copy()))
            off.yard.value[kind, OFF, BEGIN:] += by
            late[name] += _seen(off, budget, kind, freed=freed)
    days = (yards[0].yard.value.shape[2] - 100) * len(yards)
    return Told(
        pointings / days,
        {name: float(np.mean(each)) for name, each in late.items()},
        {name: float(np.mean(np.array(each) < WATCHED_DAYS)) for name, each in late.items()},
    )


def _seen(off: Ridden, budget: Budget, kind: int, *, freed: bool) -> list[int]:
    """Return days until each horse that is off is pointed at."""
    horse, day = _pointed(off, budget, [kind], freed=freed)
    since = day - START - BEGIN
    return [int(min([*since[(horse == one) & (since >= 0)], WATCHED_DAYS])) for one in OFF]


def _pointed(one: Ridden, budget: Budget, kinds: Sequence[int], *, freed: bool) -> tuple[Ints, Ints]:
    """Return horses and days at which the watch points anew by some kinds, from the hundredth day on."""
    read = one.readings(freed=freed)
    pointed = watch(read, budget, every=ANEW).pointed() & np.isin(read.kind, kinds) & (read.day >= START + 100)
    return read.horse[pointed], read.day[pointed]
