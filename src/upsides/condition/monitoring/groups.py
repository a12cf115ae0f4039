"""Compiled: charts of the yard, its barns and its devices, and the levels that these come to have."""

import numpy as np
from numba import njit
from numpy.typing import NDArray

from upsides.condition.monitoring import places as of
from upsides.condition.monitoring.effects import GROUP_OF
from upsides.condition.monitoring.steps import chart_step

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
SEASON = 45.0
"""Days over which what yard or barn show becomes their level, and that the usual of each of their horses, so that a
season is not news. Our own choice."""
ALIKE = 0.8
"""Two groups cannot be told apart on a day when this share of the readings of either are of both, as with a barn and
the thermometer that it alone uses."""
BEYOND = 2.0
"""From so many standard deviations on a horse is counted among those of its group that are off."""


@njit("void(f8[::1], f8, f8, f8)", cache=True, nogil=True)
def shift_device(level: Floats, effect: float, day: float, variance: float) -> None:
    """Move a device's level by the day's effect; `variance` is how well it is then known."""
    level[of.LEVEL] += effect
    level[of.LEVEL_VARIANCE], level[of.LEVEL_DAY] = variance, day


@njit("void(f8[::1], f8, f8)", cache=True, nogil=True)
def shift_season(level: Floats, effect: float, day: float) -> None:
    """Move the level of yard or barn towards the day's effect over the weeks."""
    if not np.isnan(level[of.LEVEL_DAY]):
        level[of.LEVEL] += (1.0 - np.exp(-(day - level[of.LEVEL_DAY]) / SEASON)) * effect
    level[of.LEVEL_DAY] = day


@njit("i8(i8, i8, i8[:, ::1])", cache=True, nogil=True)
def bound_to(c: int, p: int, column: Ints) -> int:
    """Return the column that nearly the same readings have as column c, so that they cannot be told apart; or -1.

    Args:
        c: the column.
        p: how many columns there are.
        column: (n, 2) columns of barn and device, -1 for none; the yard is column 0 of all.
    """
    found, most = -1, ALIKE
    for j in range(p):
        both, either = 0, 0
        for i in range(column.shape[0]):
            mine = c == 0 or column[i, 0] == c or column[i, 1] == c
            other = j == 0 or column[i, 0] == j or column[i, 1] == j
            both += mine and other
            either += mine or other
        if j != c and both >= most * either:
            found, most = j, both / either
    return found


@njit("UniTuple(i8, 2)(i8, i8, i8, f8[::1], f8[::1], i8[:, ::1], f8[:, ::1])", cache=True, nogil=True)
def counted(c: int, group: int, barns: int, r: Floats, s: Floats, column: Ints, effect: Floats) -> tuple[int, int]:
    """Return how many readings a group had, and how many were far off the way that the group is."""
    count, beyond, way = 0, 0, 1.0 if effect[c, 0] > 0.0 else -1.0
    for i in range(r.size):
        if c == 0 or column[i, 0] == c or column[i, 1] == c:
            rest = r[i] if c == 0 else r[i] - effect[0, 0]
            if column[i, 0] >= 0 and group > barns:
                rest -= effect[column[i, 0], 0]
            if column[i, 1] >= 0 and group <= barns:
                rest -= effect[column[i, 1], 0]
            count += 1
            beyond += rest * way > BEYOND * np.sqrt(s[i])
    return count, beyond


@njit(
    "i8(f8, i8, f8[::1], f8[::1], i8[:, ::1], i8[::1], f8[::1], f8[::1], f8[:, ::1], f8[:, ::1], f8[:, ::1], "
    "f8[:, ::1], f8[::1], f8[:, ::1], i8)",
    cache=True, nogil=True,
)  # fmt: skip
def tell_groups(
    day: float, barns: int, r: Floats, s: Floats, column: Ints, groups: Ints, z: Floats, keep: Floats, effect: Floats,
    inverse: Floats, charts: Floats, levels: Floats, v: Floats, told: Floats, at: int,
) -> int:  # fmt: skip
    """Take the day's effects up into the groups' charts and levels; write what is told of them, and return where to.

    Args:
        day: the day.
        barns: how many barns there are.
        r: (n,) what is left over of each reading.
        s: (n,) its variance.
        column: (n, 2) columns of barn and device, -1 for none.
        groups: the group of each column.
        z: (p,) how far off each effect is, in standard deviations of an ordinary day's.
        keep: (p,) the share of each effect by which a device's level moves: all of an ordinary one, and of one that is
            taken as large as it looks so much as an ordinary one would have been.
        effect: (p, 1) the effects.
        inverse: (p, p) their covariance.
        charts: (groups, CHART) changed.
        levels: (groups, DEVICE) changed.
        v: what was learned of the kind, and its limits.
        told: written from row `at` on.
        at: the first row.
    """
    for c in range(z.size):
        group = groups[c]
        device = group > barns
        count, beyond = counted(c, group, barns, r, s, column, effect)
        bound = bound_to(c, z.size, column)
        was = charts[group, of.ON]
        if count >= GROUP_OF:
            row, chart = told[at], charts[group]
            row[of.G_DAY], row[of.G_GROUP], row[of.G_EFFECT], row[of.G_Z] = day, group, effect[c, 0], z[c]
            side = 0.0 if device else v[of.SIDE]
            ratio = chart_step(chart, z[c], day, side, v[of.G_SINGLE], v[of.G_WIDTH], v[of.G_LIMIT])
            row[of.G_RATIO], row[of.G_WAY], row[of.G_BEGAN] = ratio, chart[of.ON], chart[of.ON_DAY]
            row[of.G_READ], row[of.G_BEYOND] = count, beyond
            row[of.G_BOUND] = -1.0 if bound < 0 else groups[bound]
            row[of.G_LEVEL] = levels[group, of.LEVEL] + effect[c, 0]
            at += 1
        if device:  # one that begins to stand out by itself may read anything from now on
            new = was == 0.0 and charts[group, of.ON] != 0.0 and bound < 0
            known = v[of.NEW_DEVICE] if new else keep[c] * inverse[c, c]
            shift_device(levels[group], keep[c] * effect[c, 0], day, known)
        else:
            shift_season(levels[group], effect[c, 0], day)
    return at
