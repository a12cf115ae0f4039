"""Simulated yards with planted troubles: how soon the watch sees them, beside a plain rule that points as often.

The plain rule holds each reading against the mean and standard deviation of the horse's own last readings of its kind.
Its threshold is set so that on the same yard without troubles it points as often as the watch did there. All sizes are
invented.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from upsides.condition.monitoring import places as of
from upsides.condition.monitoring.budget import Budget
from upsides.condition.monitoring.kinds import KINDS, SIDES
from upsides.condition.monitoring.readings import Floats, Ints, Readings, readings_of
from upsides.condition.monitoring.swaps import swapped_on
from upsides.condition.monitoring.watching import Watched, watch

MASS, TEMPERATURE, PULSE, RECOVERY, FEED, SPEED, HEART, STRIDE, EVEN = range(len(KINDS))
TRACKED: Final = (RECOVERY, SPEED, HEART, STRIDE, EVEN)
EVEN_SD: Final = 0.012
"""What a recording says of its own error of how even a trot was; the simulated ones are wrong by as much."""
START: Final = 15000
"""The first day of a simulated yard."""
BEGIN: Final = 260
"""Days after the first on which the trouble begins."""
WATCHED_DAYS: Final = 60
"""Days for which one waits for it to be seen."""
ANEW: Final = 140
"""Days after which the watch learns anew; less often than it would, so that many yards can be simulated."""
SUSPECTED: Final = 3
"""A device is suspected by the plain rule when it has pointed at so many horses that were read with it."""
BACK, FEWEST = 30, 10
"""Earlier readings that the plain rule looks at, at most and at least."""


@dataclass(frozen=True, slots=True)
class Ordinary:
    """What one kind of reading ordinarily does: its centre, standard deviations, and how often it is read, a day."""

    centre: float
    between: float
    noise: float
    passing: float
    days: float
    yard: float
    barn: float
    often: float


ORDINARY: Final = (
    Ordinary(480.0, 22.0, 2.0, 2.5, 6.0, 0.8, 0.4, 1 / 7),
    Ordinary(37.8, 0.12, 0.15, 0.10, 2.0, 0.08, 0.04, 0.97),
    Ordinary(34.0, 2.5, 2.5, 1.5, 3.0, 0.8, 0.4, 3 / 7),
    Ordinary(95.0, 7.0, 6.0, 4.0, 8.0, 2.0, 0.8, 2 / 7),
    Ordinary(0.05, 0.03, 0.08, 0.04, 2.0, 0.01, 0.01, 0.97),
    Ordinary(15.5, 0.35, 0.22, 0.12, 8.0, 0.10, 0.03, 2 / 7),
    Ordinary(200.0, 4.0, 3.0, 2.0, 6.0, 1.0, 0.4, 2 / 7),
    Ordinary(6.8, 0.25, 0.06, 0.04, 8.0, 0.02, 0.01, 2 / 7),
    Ordinary(0.93, 0.03, 0.012, 0.01, 8.0, 0.002, 0.001, 2 / 7),
)
"""In the order of the kinds."""
WILD: Final = 0.01
"""Share of readings that are misread, by four times what is ordinary."""


@dataclass(frozen=True, slots=True, eq=False)
class Yard:
    """A simulated yard on a grid; what is not read is NaN.

    Attributes:
        value: (kinds, horses, days).
        barn: (horses,) codes.
        device: (kinds, horses, days) codes: one thermometer a barn, two scales that horses change between by the week,
            a tracker for each horse.
    """

    value: Floats
    barn: Ints
    device: Ints

    def readings(self) -> Readings:
        """Return what was read."""
        kind, horse, day = np.nonzero(np.isfinite(self.value))
        at = (kind, horse, day)
        sd = np.where(kind == EVEN, EVEN_SD, 0.0)
        return readings_of(
            horse, kind, START + day, self.value[at], barn=self.barn[horse], device=self.device[at], sd=sd
        )


def ordinary_yard(seed: int, horses: int = 40, barns: int = 4, days: int = 340) -> Yard:
    """Return a yard in which nothing is wrong."""
    rng = np.random.default_rng(seed)
    barn = np.arange(horses) * barns // horses
    value = np.empty((len(KINDS), horses, days))
    device = np.full(value.shape, -1, dtype=np.int64)
    work = np.isin(np.arange(days) % 7, (1, 4)) & (rng.random((horses, days)) < 0.9)
    for kind, one in enumerate(ORDINARY):
        off = np.zeros((horses, days))
        keep = np.exp(-1.0 / one.days)
        step = rng.normal(0.0, one.passing, (horses, days))
        off[:, 0] = step[:, 0]
        for day in range(1, days):
            off[:, day] = keep * off[:, day - 1] + np.sqrt(1.0 - keep**2) * step[:, day]
        wild = np.where(rng.random((horses, days)) < WILD, 4.0, 1.0)
        off += rng.normal(0.0, one.noise, (horses, days)) * wild
        off += rng.normal(0.0, one.yard, days) + rng.normal(0.0, one.barn, (barns, days))[barn]
        value[kind] = one.centre + rng.normal(0.0, one.between, (horses, 1)) + off
        read = rng.random((horses, days)) < one.often
        if KINDS[kind].tracked:
            read = work & (rng.random((horses, days)) < 0.95)  # fast work on two days of the week
        if kind == MASS:
            read = (np.arange(days) % 7 == (barn % 5)[:, None]) & (rng.random((horses, days)) < 0.95)
        value[kind][~read] = np.nan
    device[MASS] = (np.arange(horses)[:, None] + np.arange(days)[None, :] // 7) % 2
    device[TEMPERATURE] = 2 + barn[:, None]
    value[FEED] = np.round(np.clip(value[FEED], 0.0, 1.0), 2)
    return Yard(value, barn, device)


@dataclass(frozen=True, slots=True)
class Trouble:
    """A trouble planted.

    Attributes:
        name: what it is.
        kinds: the kinds of reading in which it shows.
        plant: takes a yard, returns it with the trouble in it, from `BEGIN` on.
        horses: takes a yard, returns the horses that are truly off.
        group: the group that is off by its own number (see `Watched`), None for none; takes a yard.
    """

    name: str
    kinds: tuple[int, ...]
    plant: Callable[[Yard, np.random.Generator], Yard]
    horses: Callable[[Yard], Ints]
    group: Callable[[Yard], int | None] = lambda _: None


def _added(yard: Yard, kind: int, horse: int, first: int, by: Floats) -> None:
    days = slice(first, min(first + by.size, yard.value.shape[2]))
    yard.value[kind, horse, days] += by[: days.stop - days.start]


def _copied(yard: Yard) -> Yard:
    return replace(yard, value=yard.value.copy())


def _virus(yard: Yard, rng: np.random.Generator) -> Yard:
    sick = _copied(yard)
    for horse in _barn_one(yard):
        if rng.random() < 0.6:
            first = BEGIN + int(rng.integers(0, 6))
            _added(sick, TEMPERATURE, int(horse), first, rng.normal(0.7, 0.2, 6))
            _added(sick, PULSE, int(horse), first, rng.normal(4.0, 1.0, 6))
            _added(sick, FEED, int(horse), first + 1, rng.uniform(0.0, 0.4, 5))
    return sick


def _off_feed(yard: Yard, rng: np.random.Generator) -> Yard:
    found = _copied(yard)
    _added(found, FEED, 0, BEGIN, rng.uniform(0.1, 0.35, 8))
    _added(found, SPEED, 0, BEGIN + 6, np.full(6, -0.4))
    return found


def _slow_loss(yard: Yard, rng: np.random.Generator) -> Yard:  # noqa: ARG001 -- nothing of it is left to chance
    found = _copied(yard)
    _added(found, MASS, 0, BEGIN, -np.minimum(0.4 * np.arange(1, WATCHED_DAYS + 20), 16.0))
    return found


def _exchanged(yard: Yard, rng: np.random.Generator) -> Yard:
    found = _copied(yard)
    one, other = _pair(yard)
    days = slice(BEGIN, BEGIN + 21)
    for kind in TRACKED:
        for mine, theirs in ((one, other), (other, one)):
            there = np.isfinite(yard.value[kind, mine, days])
            usual = np.nanmedian(yard.value[kind, theirs])
            own = np.nanmedian(yard.value[kind, mine])
            found.value[kind, mine, days][there] += usual - own
    rng.random()
    return found


def _uneven(yard: Yard, rng: np.random.Generator) -> Yard:  # noqa: ARG001 -- nothing of it is left to chance
    found = _copied(yard)
    _added(found, EVEN, 0, BEGIN, -np.minimum(0.004 * np.arange(1, WATCHED_DAYS + 20), 0.08))
    return found


def _drifting(yard: Yard, rng: np.random.Generator) -> Yard:  # noqa: ARG001 -- nothing of it is left to chance
    found = _copied(yard)
    drift = np.clip(0.2 * (np.arange(yard.value.shape[2]) - BEGIN), 0.0, 6.0)
    found.value[MASS] += np.where(yard.device[MASS] == 0, drift, 0.0)
    return found


def _barn_one(yard: Yard) -> Ints:
    return np.flatnonzero(yard.barn == 1)


def _first(yard: Yard) -> Ints:  # noqa: ARG001 -- every yard has one
    return np.array([0])


def _nobody(yard: Yard) -> Ints:  # noqa: ARG001 -- no horse is off
    return np.array([], dtype=np.int64)


def _pair(yard: Yard) -> Ints:  # noqa: ARG001 -- every yard has them
    return np.array([0, 5])


def _scale(yard: Yard) -> int:
    return 1 + int(yard.barn.max()) + 1


TROUBLES: Final = (
    Trouble("a virus through a barn", (TEMPERATURE, PULSE, FEED), _virus, _barn_one, lambda _: 2),
    Trouble("a horse off its feed before a bad run", (FEED, SPEED), _off_feed, _first),
    Trouble("a slow loss of mass", (MASS,), _slow_loss, _first),
    Trouble("two trackers exchanged", TRACKED, _exchanged, _pair),
    Trouble("a horse that grows uneven", (EVEN,), _uneven, _first),
    Trouble("a drifting scale", (MASS,), _drifting, _nobody, _scale),
)


@dataclass(frozen=True, slots=True)
class Delay:
    """How one trouble was seen in several simulated yards.

    Attributes:
        name: the trouble.
        watch_days, plain_days: mean days until each saw it; one that never did counts as `WATCHED_DAYS`.
        watch_seen, plain_seen: share of the yards in which each saw it at all.
        watch_false, plain_false: pointings a day at horses that were not off, while the trouble lasted.
    """

    name: str
    watch_days: float
    plain_days: float
    watch_seen: float
    plain_seen: float
    watch_false: float
    plain_false: float


@dataclass(frozen=True, slots=True)
class Compared:
    """Delays by trouble, and how often each rule pointed on ordinary days, a day: these are made alike."""

    delays: tuple[Delay, ...]
    watch_ordinary: float
    plain_ordinary: float


def compare(
    seeds: Sequence[int], horses: int = 40, budget: Budget | None = None, troubles: Sequence[Trouble] = TROUBLES
) -> Compared:
    """Plant each trouble in simulated yards, and say how soon the watch and the plain rule see it.

    Args:
        seeds: of the yards.
        horses: in each.
        budget: of the watch.
        troubles: which.
    """
    budget = budget or Budget(horses / 120.0, 0.1)
    seen: dict[str, list[tuple[int, int, int, int]]] = {one.name: [] for one in troubles}
    ordinary: list[tuple[int, int]] = []
    for seed in seeds:
        yard = ordinary_yard(seed, horses)
        watched, plain = watch(yard.readings(), budget, every=ANEW), _plain(yard.readings())
        window = (START + 100, START + yard.value.shape[2])
        by_watch = _count(watched, window)
        threshold = _threshold(yard.readings(), plain, by_watch, window)
        ordinary.append((by_watch, _pointed_plainly(yard.readings(), plain, threshold, window).size))
        for one in troubles:
            off = one.plant(yard, np.random.default_rng(seed + 1000))
            seen[one.name].append(_seen(off, one, budget, threshold))
    days = (START + yard.value.shape[2] - START - 100) * len(seeds)
    delays = tuple(_delay(name, np.array(rows, dtype=np.float64)) for name, rows in seen.items())
    return Compared(delays, sum(a for a, _ in ordinary) / days, sum(b for _, b in ordinary) / days)


def _delay(name: str, rows: Floats) -> Delay:
    late, false = rows[:, :2], rows[:, 2:].mean(axis=0) / WATCHED_DAYS
    days, there = late.mean(axis=0), (late < WATCHED_DAYS).mean(axis=0)
    return Delay(name, *(float(x) for x in (*days, *there, *false)))


def _seen(yard: Yard, trouble: Trouble, budget: Budget, threshold: float) -> tuple[int, int, int, int]:
    """Return days until each rule saw the trouble, and how many pointings at horses that were not off."""
    readings = yard.readings()
    window = (START + BEGIN, START + BEGIN + WATCHED_DAYS)
    watched = watch(readings, budget, every=ANEW)
    rows = np.flatnonzero(watched.pointed() & (readings.day >= window[0]) & (readings.day < window[1]))
    plain = _pointed_plainly(readings, _plain(readings), threshold, window)
    off = trouble.horses(yard)
    group = trouble.group(yard)
    anyone = off if off.size else np.unique(readings.horse)
    shows = np.isin(readings.horse, anyone) & np.isin(readings.kind, trouble.kinds)
    if group is not None and not off.size:
        shows &= 1 + watched.barns + readings.device == group
    found = [int(day) for day in readings.day[rows][shows[rows] & (off.size > 0)]]
    if group is not None:
        at = (
            watched.groups_pointed()
            & (watched.groups[:, of.G_GROUP] == group)
            & (watched.groups[:, of.G_DAY] >= window[0])
        )
        found += [int(day) for day in watched.groups[at & np.isin(watched.group_kind, trouble.kinds), of.G_DAY]]
    if off.size == 2:
        days = range(window[0], min([*found, window[1]]))
        pairs = ((day, {p.one, p.other}) for day in days for p in swapped_on(watched, day))
        found += [day for day, pair in pairs if pair == set(off.tolist())][:1]
    plainly = readings.day[plain][shows[plain]][(0 if off.size else SUSPECTED - 1) :]
    return (
        min([*found, window[1]]) - window[0], int(min([*plainly.tolist(), window[1]])) - window[0],
        int(np.count_nonzero(~np.isin(readings.horse[rows], off))),
        int(np.count_nonzero(~np.isin(readings.horse[plain], off))),
    )  # fmt: skip


def _count(watched: Watched, window: tuple[int, int]) -> int:
    """Return how often the watch pointed at anything in some days."""
    horses = watched.pointed() & (watched.readings.day >= window[0]) & (watched.readings.day < window[1])
    day = watched.groups[:, of.G_DAY]
    groups = watched.groups_pointed() & (day >= window[0]) & (day < window[1])
    return int(horses.sum() + groups.sum())


def _plain(readings: Readings) -> Floats:
    """Return how far off each reading is from the horse's own last ones, in their standard deviations; (n,)."""
    far = np.zeros(readings.day.size)
    order = np.lexsort((readings.day, readings.horse, readings.kind))
    series = readings.kind[order] * (readings.foaled.size + 1) + readings.horse[order]
    for rows in np.split(order, np.flatnonzero(np.diff(series)) + 1):
        value = readings.value[rows] - readings.value[rows[0]]
        last = np.arange(rows.size)
        n = np.minimum(last, BACK)
        sums, squares = np.r_[0.0, np.cumsum(value)], np.r_[0.0, np.cumsum(value**2)]
        total, square = sums[last] - sums[last - n], squares[last] - squares[last - n]
        known = n >= FEWEST
        mean = total[known] / n[known]
        variance = (square[known] - n[known] * mean**2) / (n[known] - 1)
        grain = readings.kinds[int(readings.kind[rows[0]])].grain
        far[rows[known]] = (value[known] - mean) / np.sqrt(np.maximum(variance, grain**2))
    return far


def _pointed_plainly(readings: Readings, far: Floats, threshold: float, window: tuple[int, int]) -> Ints:
    """Return the rows at which the plain rule points anew in some days."""
    side = np.array([SIDES[kind.side] for kind in readings.kinds])[readings.kind]
    out = np.where(side == 0, np.abs(far), side * far) > threshold
    order = np.lexsort((readings.day, readings.horse, readings.kind))
    series = readings.kind[order] * (readings.foaled.size + 1) + readings.horse[order]
    before = np.r_[False, out[order][:-1] & (np.diff(series) == 0)]
    rows = order[out[order] & ~before]
    return np.sort(rows[(readings.day[rows] >= window[0]) & (readings.day[rows] < window[1])])


def _threshold(readings: Readings, far: Floats, wanted: int, window: tuple[int, int]) -> float:
    """Return the threshold at which the plain rule points as often as wanted."""
    low, high = 1.0, 12.0
    for _ in range(30):
        middle = (low + high) / 2.0
        many = _pointed_plainly(readings, far, middle, window).size > wanted
        low, high = (middle, high) if many else (low, middle)
    return high
