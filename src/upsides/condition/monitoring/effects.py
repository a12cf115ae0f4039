"""Compiled: what a day's readings have in common, by yard, barn and device at once.

    left over = yard + barn + device + the horse's own,    each a priori normal about nought,

solved robustly: readings far off pull with a bounded force (Huber 1964, Ann. Math. Stat. 35:73).
"""

import numpy as np
from numba import njit
from numpy.typing import NDArray

from upsides.condition.monitoring import places as of

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
ROUNDS = 6
"""Rounds of weighing; the effects change little after four."""
PULL = 1.345
"""Beyond so many standard deviations a reading pulls with the same force (Huber's constant for 95 % efficiency)."""
GROUP_OF = 3
"""Fewer readings than these say nothing of a group."""
ONCE = -2
"""What stands at the place of a device that was read with once, where -1 stands for never."""
UNUSUAL = 2.5
"""From so many standard deviations on an effect is no ordinary day's. Our own choice."""
MOST_WIDENED = 4
"""So many effects a day are taken as such at most."""


@njit("void(i8, i8, i8, i8[::1], i8[::1], i8[::1], i8[:, ::1], i8[::1])", cache=True, nogil=True)
def columns(a: int, b: int, barns: int, barn: Ints, device: Ints, place: Ints, column: Ints, groups: Ints) -> None:
    """Number the groups that are read on a day: the yard first, then barns and devices as they come.

    A device with one reading that day has no column: it says nothing that the horse does not. Written: the columns of
    each reading's barn and device (-1 for none), the group of each column, and in its last place how many columns there
    are.
    """
    groups[0], count = 0, 1
    for i in range(a, b):
        if device[i] >= 0:
            place[1 + barns + device[i]] -= 1
    for i in range(a, b):
        for which in range(2):
            code = barn[i] if which == 0 else device[i]
            group = 1 + code if which == 0 else 1 + barns + code
            column[i - a, which] = -1
            if code >= 0 and (which == 0 or place[group] != ONCE):
                if place[group] < 0:
                    place[group], groups[count] = count, group
                    count += 1
                column[i - a, which] = place[group]
    for c in range(count):
        place[groups[c]] = -1
    for i in range(a, b):
        if device[i] >= 0:
            place[1 + barns + device[i]] = -1
    groups[-1] = count


@njit("f8(f8[::1], f8, f8[::1])", cache=True, nogil=True)
def device_variance(device: Floats, day: float, v: Floats) -> float:
    """Return how well a device's level is known on a day."""
    if np.isnan(device[of.LEVEL_DAY]):
        return float(v[of.NEW_DEVICE])
    return float(min(device[of.LEVEL_VARIANCE] + v[of.DEVICE_WALK] * (day - device[of.LEVEL_DAY]), v[of.NEW_DEVICE]))


@njit("UniTuple(f8[:, ::1], 2)(f8[::1], f8[::1], i8[:, ::1], f8[::1], f8[::1])", cache=True, nogil=True)
def solve(r: Floats, s: Floats, column: Ints, prior: Floats, weight: Floats) -> tuple[Floats, Floats]:
    """Return the effects (p, 1) and their covariance (p, p); write each reading's weight over its variance.

    Args:
        r: (n,) what is left over.
        s: (n,) its variance.
        column: (n, 2) columns of barn and device, -1 for none; the yard is column 0 of all.
        prior: (p,) variance of each effect.
        weight: (n,) written.
    """
    p = prior.size
    effect, inverse = np.zeros((p, 1)), np.zeros((p, p))
    for _ in range(ROUNDS):
        left, right = np.diag(1.0 / prior), np.zeros((p, 1))
        for i in range(r.size):
            one, other = column[i, 0], column[i, 1]
            rest = r[i] - effect[0, 0]
            if one >= 0:
                rest -= effect[one, 0]
            if other >= 0:
                rest -= effect[other, 0]
            far = abs(rest) / np.sqrt(s[i])
            w = (1.0 if far <= PULL else PULL / far) / s[i]
            weight[i] = w
            left[0, 0] += w
            right[0, 0] += w * r[i]
            if one >= 0:
                left[one, one] += w
                left[0, one] += w
                left[one, 0] += w
                right[one, 0] += w * r[i]
            if other >= 0:
                left[other, other] += w
                left[0, other] += w
                left[other, 0] += w
                right[other, 0] += w * r[i]
            if one >= 0 and other >= 0:
                left[one, other] += w
                left[other, one] += w
        inverse = np.ascontiguousarray(np.linalg.inv(left))
        effect = inverse @ right
    return effect, inverse


@njit("f8(f8[:, ::1], i8, i8)", cache=True, nogil=True)
def variance_of(inverse: Floats, one: int, other: int) -> float:
    """Return the variance of the sum of the yard's effect and those of two columns, -1 for none."""
    total = inverse[0, 0]
    if one >= 0:
        total += inverse[one, one] + 2.0 * inverse[0, one]
    if other >= 0:
        total += inverse[other, other] + 2.0 * inverse[0, other]
    if one >= 0 and other >= 0:
        total += 2.0 * inverse[one, other]
    return float(max(total, 0.0))


@njit("i8[::1](i8[:, ::1], i8)", cache=True, nogil=True)
def counts(column: Ints, p: int) -> Ints:
    """Return how many readings each of p columns has; the yard, column 0, has all."""
    read = np.zeros(p, dtype=np.int64)
    read[0] = column.shape[0]
    for i in range(column.shape[0]):
        for which in range(2):
            if column[i, which] >= 0:
                read[column[i, which]] += 1
    return read


@njit("UniTuple(f8[:, ::1], 2)(f8[::1], f8[::1], i8[:, ::1], f8[::1], f8, f8[::1], f8[::1])", cache=True, nogil=True)
def explain(
    r: Floats, s: Floats, column: Ints, prior: Floats, wide: float, weight: Floats, z: Floats
) -> tuple[Floats, Floats]:
    """Return the effects (p, 1) and their covariance (p, p), those that stand out taken as large as they look.

    On most days an effect is drawn to nought by its ordinary variance. One that stands out by then, as a barn with a
    virus or a scale that was moved, is no ordinary day's: its variance is widened and all is solved again, the one that
    stands out most first, since what it explains need not be explained by others.

    Args:
        r: (n,) what is left over.
        s: (n,) its variance.
        column: (n, 2) columns of barn and device, -1 for none; the yard is column 0 of all.
        prior: (p,) ordinary variance of each effect; widened ones are changed.
        wide: the variance of what is not ordinary.
        weight: (n,) written: each reading's weight over its variance.
        z: (p,) written: how far each effect is off by its ordinary variance, in standard deviations.
    """
    read, widened = counts(column, prior.size), np.zeros(prior.size, dtype=np.bool_)
    effect, inverse = solve(r, s, column, prior, weight)
    for _ in range(MOST_WIDENED + 1):
        worst = -1
        for c in range(prior.size):
            if widened[c]:
                continue
            known = prior[c] - inverse[c, c]
            z[c] = effect[c, 0] / np.sqrt(known) if known > 1e-9 * prior[c] else 0.0
            far = read[c] >= GROUP_OF and abs(z[c]) > UNUSUAL
            if far and (worst < 0 or abs(z[c]) > abs(z[worst]) + 1e-6):
                worst = c
        if worst < 0 or widened.sum() == MOST_WIDENED:
            break
        widened[worst], prior[worst] = True, max(prior[worst], wide)
        effect, inverse = solve(r, s, column, prior, weight)
    return effect, inverse
