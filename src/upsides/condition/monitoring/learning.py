"""What one kind of reading is like in this yard: how far horses, days, barns and readings vary, from its own past.

Differences between readings of one horse, by the days between them, tell three parts of a variance at once,

    E (y_t - y_s)^2 / 2 = noise + passing (1 - exp(-gap / days)) + walk gap / 2,

the variogram of geostatistics (Cressie 1993, Statistics for Spatial Data, section 2.4), taken from mean absolute
differences, drawn in at four times their mean, so that few wild readings count little. All horses are pooled: one horse
has too few readings. What a parameter may be is bounded, and each bound says why.
"""

from dataclasses import dataclass, fields, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import nnls

from upsides.condition.monitoring.kinds import Kind
from upsides.condition.monitoring.readings import Readings
from upsides.condition.monitoring.steps import GROWN_AT, GROWN_FROM

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
LAGS: Final = (1, 2, 3, 5, 8, 13, 21, 34)
"""Differences are taken over so many readings of the same horse."""
GAPS: Final = np.array([0.5, 1.5, 2.5, 4.5, 7.5, 11.5, 17.5, 25.5, 40.5, 60.5, 90.5])
"""Edges of the classes of days between two readings."""
PASSES: Final = (1.0, 2.0, 3.0, 5.0, 8.0, 14.0)
"""Days after which what passes may have fallen to 1/e; what lasts longer than a fortnight is not passing."""
MEMORY: Final = 45.0
"""The usual remembers at least so many days: one that followed faster would take a slow loss for usual."""
SEASON: Final = 45
"""Days over which the yard's and a barn's effects are freed of their season, before it is seen how they vary."""
LEAST_PAIRS: Final = 40
"""A class of gaps with fewer pairs of readings says nothing."""
LEAST_HORSES: Final = 5.0
"""What is said beforehand counts like so many horses."""
NORMAL: Final = 1.4826
"""Median absolute deviation into standard deviation, of normal readings."""


@dataclass(frozen=True, slots=True)
class Nature:
    """What one kind of reading is like, in its unit.

    Attributes:
        noise: variance of a reading about what a horse has that day, beyond the readings' own known errors.
        pass_variance, pass_days: of what is off for some days: its variance, and the days after which 1/e is left.
        walk: variance a day by which a horse's usual moves.
        centre, between: the yard's centre, and the variance of horses' usuals about it, by half more than was found:
            a newcomer may be unlike any of ours.
        growth, growth_variance: how much a day a young horse grows at its fastest, and how that differs among them.
        yard, barn: variances of the day's effect on all, and on a barn besides.
        new_device, device_walk: variance of the level of a device that nobody knows, and by which one moves a day.
    """

    noise: float
    pass_variance: float
    pass_days: float
    walk: float
    centre: float
    between: float
    growth: float
    growth_variance: float
    yard: float
    barn: float
    new_device: float
    device_walk: float

    def array(self) -> Floats:
        """Return these in the order of `upsides.condition.monitoring.places`."""
        return np.array([getattr(self, field.name) for field in fields(self)])

    @property
    def sd(self) -> float:
        """Standard deviation of a reading about its usual."""
        return float(np.sqrt(self.noise + self.pass_variance))


def nature_of(readings: Readings, kind: Kind) -> Nature:
    """Learn what a kind is like from some time's readings of it, all of that kind.

    Without readings it is what the kind's grain alone would make it.
    """
    least = kind.grain**2
    unknown = Nature(
        noise=least, pass_variance=0.0, pass_days=3.0, walk=least / MEMORY**2, centre=0.0, between=100.0 * least,
        growth=kind.growth, growth_variance=kind.growth**2, yard=0.01 * least, barn=0.04 * least,
        new_device=9.0 * least, device_walk=least / 480.0,
    )  # fmt: skip
    if not readings.day.size:
        return unknown
    usual = medians(readings.horse, readings.value)
    off = readings.value - usual[readings.horse]
    day, barns = readings.day - readings.day.min(), int(readings.barn.max()) + 2
    barn_day = day * barns + readings.barn + 1
    yard_effect, yard_count = _effects(day, off, 1)
    off = off - yard_effect[day]
    barn_effect, barn_count = _effects(barn_day, off, barns)
    off = off - barn_effect[barn_day]
    noise, passing, days, walk = _parts(readings.horse, readings.day, off, least)
    noise = max(noise - float(np.mean(readings.sd**2)), least)
    whole = noise + passing
    known = np.isfinite(usual)
    between = float(_mad(usual[known]) ** 2) if known.sum() > 2 else 100.0 * whole
    return replace(
        unknown, noise=noise, pass_variance=passing, pass_days=days, walk=walk,
        centre=float(np.median(usual[known])), between=max(between, whole) * 1.5,
        yard=_between(yard_effect, yard_count, whole, 0.05, 1),
        barn=_between(barn_effect, barn_count, whole, 0.1, barns),
        new_device=9.0 * whole, device_walk=whole / 480.0, **_growth(readings, kind),
    )  # fmt: skip


def medians(group: Ints, value: Floats) -> Floats:
    """Return the median of each group's values by its code, NaN for a code without any."""
    order = np.lexsort((value, group))
    count = np.bincount(group)
    start = np.cumsum(count) - count
    found = np.full(count.size, np.nan)
    there = count > 0
    low, high = (start + (count - 1) // 2)[there], (start + count // 2)[there]
    found[there] = (value[order][low] + value[order][high]) / 2.0
    return found


def _effects(group: Ints, off: Floats, columns: int) -> tuple[Floats, Ints]:
    """Return the median of each group, 0 where fewer than five readings make it, and how many there are.

    Groups are numbered day by day, so many of them a day.
    """
    size = (int(group.max()) // columns + 1) * columns
    count = np.bincount(group, minlength=size)
    found = np.zeros(size)
    middle = medians(group, off)
    found[: middle.size] = np.nan_to_num(middle)
    return np.where(count >= 5, found, 0.0), count


def _mad(x: Floats) -> float:
    return float(NORMAL * np.median(np.abs(x - np.median(x))))


def _between(effect: Floats, count: Ints, variance: float, least: float, columns: int) -> float:
    """Return the variance of days' effects about their season, beyond that of the medians that tell them.

    It is at least a share of a reading's standard deviation, squared. With the yard's effect each of k barns has lost
    the k-th part of its own.
    """
    floor = (least**2) * variance
    told = count >= 5
    if told.sum() < 10:
        return floor
    of_day, there = (np.where(told, one, 0.0).reshape(-1, columns).cumsum(axis=0) for one in (effect, told))
    days = np.arange(of_day.shape[0])
    low, high = np.maximum(days - SEASON // 2 - 1, -1), np.minimum(days + SEASON // 2, days.size - 1)
    sums, counts = (
        np.vstack([one, np.zeros((1, columns))])[high] - np.vstack([one, np.zeros((1, columns))])[low]
        for one in (of_day, there)
    )
    off = (effect - (sums / np.maximum(counts, 1.0)).ravel())[told]
    error = np.pi / 2.0 * variance / float(np.median(count[told]))
    kept = 1.0 - 1.0 / max(float(there[-1].astype(np.bool_).sum()), 2.0) if columns > 1 else 1.0
    return float(max(_mad(off) ** 2 / kept - error, floor))


def _parts(horse: Ints, day: Ints, off: Floats, least: float) -> tuple[float, float, float, float]:
    """Return noise, passing variance, its days, and walk, from differences."""
    order = np.lexsort((day, horse))
    h, d, y = horse[order], day[order], off[order]
    gap, far = [], []
    for lag in LAGS:
        same = h[lag:] == h[:-lag]
        gap.append((d[lag:] - d[:-lag])[same])
        far.append(np.abs(y[lag:] - y[:-lag])[same])
    days, size = np.concatenate(gap), np.concatenate(far)
    which = np.digitize(days, GAPS)
    rows = [(days[which == k], size[which == k]) for k in range(1, GAPS.size)]
    rows = [(g, f) for g, f in rows if f.size >= LEAST_PAIRS]
    if not rows:
        return max(least, _mad(off) ** 2), 0.0, 3.0, least / MEMORY**2
    at = np.array([g.mean() for g, _ in rows])
    half = np.array([_half_square(f) for _, f in rows])
    weight = np.sqrt(np.minimum([f.size for _, f in rows], 2000.0)) / np.maximum(half, least)
    best = min((_fitted(at, half, weight, passes) for passes in PASSES), key=lambda one: one[0])
    noise, passing, walk = best[2]
    noise = max(noise, least, 0.1 * passing)
    reads = float(np.median((d[1:] - d[:-1])[h[1:] == h[:-1]].clip(1)))
    fastest = noise * reads / MEMORY**2
    return float(noise), float(passing), best[1], float(np.clip(2.0 * walk, 0.01 * fastest, fastest))


def _half_square(far: Floats) -> float:
    drawn = np.minimum(far, 4.0 * far.mean())
    return float((drawn.mean() * np.sqrt(np.pi / 2.0)) ** 2 / 2.0)


def _fitted(at: Floats, half: Floats, weight: Floats, passes: float) -> tuple[float, float, Floats]:
    X = np.column_stack([np.ones_like(at), 1.0 - np.exp(-at / passes), at])
    found, rest = nnls(X * weight[:, None], half * weight)
    return float(rest), passes, found


def _grown(age: Floats) -> Floats:
    """Return the days of growth at the full rate behind ages in days, as `grown` does of one."""
    late = np.clip(age - GROWN_FROM, 0.0, GROWN_AT - GROWN_FROM)
    return np.asarray(np.minimum(age, GROWN_FROM) + late - late**2 / (2.0 * (GROWN_AT - GROWN_FROM)))


def _median(x: Floats) -> float:
    """Return the median of a few values, several times as fast as `numpy.median`."""
    told = np.sort(x)
    return float(told[(x.size - 1) // 2] + told[x.size // 2]) / 2.0


def _growth(readings: Readings, kind: Kind) -> dict[str, float]:
    """Return the growth a day of the young and its variance among them, drawn to what is said beforehand."""
    if not kind.grows:
        return {"growth": 0.0, "growth_variance": 0.0}
    slopes = []
    order = np.argsort(readings.horse, kind="stable")
    for rows in np.split(order, np.flatnonzero(np.diff(readings.horse[order])) + 1):
        age = readings.day[rows] - readings.foaled[readings.horse[rows[0]]]
        if rows.size >= 6 and age[0] < GROWN_AT:
            w, third = _grown(age), max(rows.size // 3, 1)
            if w[-1] - w[0] > 60.0:
                value = readings.value[rows]
                rise = _median(value[-third:]) - _median(value[:third])
                slopes.append(rise / float(w[-third:].mean() - w[:third].mean()))
    n = len(slopes)
    centre = (LEAST_HORSES * kind.growth + n * float(np.median(slopes) if n else 0.0)) / (LEAST_HORSES + n)
    among = _mad(np.array(slopes)) ** 2 if n > 2 else 0.0
    return {
        "growth": centre,
        "growth_variance": (LEAST_HORSES * kind.growth**2 + n * among) / (LEAST_HORSES + n),
    }
