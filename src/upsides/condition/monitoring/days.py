"""Compiled: the walk over the days of one kind of reading.

On each day every reading is held against what its horse was expected to show. What is left over is explained as far
as it can be by the yard's day, the barn's day and the device's level, a horse being held against what all others say of
these, itself left out. What remains goes on to its chart and its state, and the effects to charts of their own.
"""

import numpy as np
from numba import njit
from numpy.typing import NDArray

from upsides.condition.monitoring import places as of
from upsides.condition.monitoring.effects import columns, device_variance, explain, variance_of
from upsides.condition.monitoring.groups import SEASON, tell_groups
from upsides.condition.monitoring.steps import carry, chart_step, learn_reading, spread

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
DOUBT = 3.0
"""While a horse stands out its readings teach its usual as if they had so many more times their variance: a usual that
is well known hardly moves, one that was learned from a few readings is put right. Our own choice."""
HELD = 21.0
"""When it has stood out for so many days, what it then reads is taken as its new usual. Our own choice."""
AGAIN = 4.0
"""It then learns as if its usual had moved with this many times a reading's variance."""


@njit("void(f8[::1], f8[::1], f8, f8, f8, f8, f8[::1], f8[::1])", cache=True, nogil=True)
def take(
    horse: Floats, chart: Floats, off: float, day: float, sd2: float, shared: float, v: Floats, told: Floats
) -> None:
    """Take a reading up: how far off it is, its chart, and the horse's state.

    Args:
        horse: the horse's state, carried to the day.
        chart: its chart.
        off: the reading less what yard, barn and device explain by all other readings.
        day: the day.
        sd2: variance of the reading's own known error.
        shared: variance of what was taken off.
        v: what was learned of the kind, and its limits.
        told: written.
    """
    off -= horse[of.USUAL] + horse[of.PASSING]
    own = horse[of.UU] + 2.0 * horse[of.UP_] + horse[of.PP] + v[of.NOISE] + sd2
    z = off / np.sqrt((own + shared) * spread(horse))
    told[of.Z], told[of.OWN] = z, horse[of.USUAL]
    told[of.SD] = np.sqrt(own * spread(horse))
    told[of.RATIO] = chart_step(chart, z, day, v[of.SIDE], v[of.SINGLE], v[of.WIDTH], v[of.LIMIT])
    told[of.WAY], told[of.BEGAN] = chart[of.ON], chart[of.ON_DAY]
    if chart[of.ON] != 0.0 and day - chart[of.ON_DAY] > HELD:
        chart[:] = 0.0
        horse[of.UU] += AGAIN * v[of.NOISE]
        z = off / np.sqrt((own + AGAIN * v[of.NOISE] + shared) * spread(horse))
    doubt = 0.0 if chart[of.ON] == 0.0 else DOUBT * v[of.NOISE]
    learn_reading(horse, off, z, sd2 + shared + doubt, v)


@njit(
    "i8(i8, i8, i8, i8[::1], i8[::1], i8[::1], i8[::1], f8[::1], f8[::1], f8[::1], f8[::1], f8[:, ::1], f8[:, ::1], "
    "f8[:, ::1], f8[:, ::1], i8[::1], i8[::1], f8[:, ::1], f8[:, ::1], i8)",
    cache=True, nogil=True,
)  # fmt: skip
def one_day(
    a: int, b: int, barns: int, horse: Ints, barn: Ints, device: Ints, day: Ints, value: Floats, sd: Floats,
    foaled: Floats, v: Floats, horses: Floats, charts: Floats, levels: Floats, group_charts: Floats, place: Ints,
    groups: Ints, told: Floats, told_groups: Floats, at: int,
) -> int:  # fmt: skip
    """Go through the readings a to b, which are of one day; see `walk`."""
    now = float(day[a])
    r, s, level, extra, gap = np.empty(b - a), np.empty(b - a), np.empty(b - a), np.empty(b - a), np.zeros(b - a)
    column = np.empty((b - a, 2), dtype=np.int64)
    columns(a, b, barns, barn, device, place, column, groups)
    prior = np.full(groups[-1], v[of.BARN])
    prior[0] = v[of.YARD]
    for c in range(1, prior.size):
        if groups[c] > barns:
            prior[c] = device_variance(levels[groups[c]], now, v)
    for i in range(a, b):
        k, state = i - a, horses[horse[i]]
        if not np.isnan(state[of.SEEN]):
            gap[k] = now - state[of.SEEN]
        carry(state, now, foaled[horse[i]], v)
        level[k], extra[k] = levels[0, of.LEVEL], sd[i] * sd[i]
        if barn[i] >= 0:
            level[k] += levels[1 + barn[i], of.LEVEL]
        if device[i] >= 0:
            own = levels[1 + barns + device[i]]
            level[k] += own[of.LEVEL]
            if column[k, 1] < 0 and not np.isnan(own[of.LEVEL_DAY]):
                extra[k] += device_variance(own, now, v)
        r[k] = value[i] - level[k] - state[of.USUAL] - state[of.PASSING]
        s[k] = (state[of.UU] + 2.0 * state[of.UP_] + state[of.PP] + v[of.NOISE] + extra[k]) * spread(state)
    weight, z, ordinary = np.empty(b - a), np.empty(prior.size), prior.copy()
    effect, inverse = explain(r, s, column, prior, v[of.NEW_DEVICE], weight, z)
    keep = np.where(prior > ordinary, ordinary / (ordinary + np.diag(inverse)), 1.0)
    for i in range(a, b):
        k, one, other = i - a, column[i - a, 0], column[i - a, 1]
        of_all = variance_of(inverse, one, other)
        left = max(1.0 - weight[k] * of_all, 0.01)
        sum_ = effect[0, 0] + (effect[one, 0] if one >= 0 else 0.0) + (effect[other, 0] if other >= 0 else 0.0)
        shared = r[k] - (r[k] - sum_) / left
        told[i, of.EXPECTED] = value[i] - r[k] + shared
        told[i, of.SHARED] = level[k] + shared
        told[i, of.OF_BARN] = effect[one, 0] if one >= 0 else 0.0
        take(
            horses[horse[i]], charts[horse[i]], value[i] - level[k] - shared, now, extra[k], of_all / left, v,
            told[i],
        )  # fmt: skip
        told[i, of.OWN] += level[k]
        together = levels[0, of.LEVEL] + effect[0, 0] + (effect[one, 0] if one >= 0 else 0.0)
        together += levels[1 + barn[i], of.LEVEL] if barn[i] >= 0 else 0.0
        horses[horse[i], of.USUAL] += (1.0 - np.exp(-gap[k] / SEASON)) * together
    return tell_groups(
        now, barns, r, s, column, groups, z, keep, effect, inverse, group_charts, levels, v, told_groups, at
    )


@njit(
    "i8(i8, i8[::1], i8[::1], i8[::1], i8[::1], f8[::1], f8[::1], f8[::1], f8[::1], f8[:, ::1], f8[:, ::1], "
    "f8[:, ::1], f8[:, ::1], f8[:, ::1], f8[:, ::1], i8)",
    cache=True, nogil=True,
)  # fmt: skip
def walk(
    barns: int, horse: Ints, barn: Ints, device: Ints, day: Ints, value: Floats, sd: Floats, foaled: Floats,
    v: Floats, horses: Floats, charts: Floats, levels: Floats, group_charts: Floats, told: Floats,
    told_groups: Floats, at: int,
) -> int:  # fmt: skip
    """Go through readings of one kind in order of days; return the row after the last that was told of groups.

    Groups are the yard (0), barns (1 + code) and devices (1 + barns + code).

    Args:
        barns: how many barns there are.
        horse: (n,) codes, as are those that follow.
        barn: -1 for none.
        device: -1 for none.
        day: in order.
        value: what was read.
        sd: its known standard error.
        foaled: (horses,) day of birth, NaN where not known.
        v: (VALUES,) what was learned of the kind, and its limits.
        horses: (horses, STATE) changed.
        charts: (horses, CHART) changed.
        levels: (groups, DEVICE) changed.
        group_charts: (groups, CHART) changed.
        told: (n, TOLD) written.
        told_groups: written from row `at` on; as many rows as there are groups and days suffice.
        at: the first row.
    """
    place, groups = np.full(levels.shape[0], -1), np.empty(levels.shape[0] + 1, dtype=np.int64)
    a = 0
    while a < day.size:
        b = a
        while b < day.size and day[b] == day[a]:
            b += 1
        at = one_day(
            a, b, barns, horse, barn, device, day, value, sd, foaled, v, horses, charts, levels, group_charts, place,
            groups, told, told_groups, at,
        )  # fmt: skip
        a = b
    return at
