"""Compiled: one chart's step, and one horse's state carried to a day and brought up to a reading.

    reading = usual + passing + error,    usual walks slowly (and grows, of the young),
    passing falls towards nought as exp(-days / its time constant): what stays off for some days, as after a race

The passing part is why readings of following days are alike. What goes on to the charts are errors of one-step
predictions, which are independent of one another where the model holds whatever the gaps between readings are; charts
of the readings themselves would speak falsely where these are alike.
"""

import numpy as np
from numba import njit
from numpy.typing import NDArray

from upsides.condition.monitoring import places as of
from upsides.condition.monitoring.charts import cusum_step, ewma_step

Floats = NDArray[np.float64]
REST_DAYS = 42.0
"""A chart that has had no reading for so long begins anew. Our own choice."""
OVER = 3.0
"""A sum is held within so much above its limit, so that it comes down again soon after."""
BACK = 0.5
"""A chart stands out until all of it is back below this share of its limits."""
GROWN_FROM, GROWN_AT = 1095.0, 1825.0
"""Growth goes on at its rate until three years, and is gone at five."""
FULL, NONE = 2.0, 4.0
"""Readings within so many standard deviations teach the usual in full, beyond so many not at all."""
POOLED = 20.0
"""How much a horse varies is drawn to the yard as if so many readings had said so. Our own choice."""
FADES = 0.99
"""By which older readings count less for that."""


@njit("f8(f8[::1], f8, f8, f8, f8, f8, f8)", cache=True, nogil=True)
def chart_step(chart: Floats, z: float, day: float, side: float, single: float, width: float, limit: float) -> float:
    """Take one reading up into a chart; return how near it is to its limit, with the sign of the way it goes."""
    if day - chart[of.LAST] > REST_DAYS:
        chart[of.MEAN], chart[of.VARIANCE], chart[of.HIGH], chart[of.LOW], chart[of.ON] = 0.0, 0.0, 0.0, 0.0, 0.0
    chart[of.LAST] = day
    x = min(max(z, -of.CLIP), of.CLIP)
    chart[of.MEAN], chart[of.VARIANCE] = ewma_step(chart[of.MEAN], chart[of.VARIANCE], x, of.EWMA_WEIGHT)
    chart[of.HIGH] = min(cusum_step(chart[of.HIGH], x, of.ALLOWANCE), limit + OVER)
    chart[of.LOW] = min(cusum_step(chart[of.LOW], -x, of.ALLOWANCE), limit + OVER)
    mean = chart[of.MEAN] / (width * np.sqrt(chart[of.VARIANCE]))
    up = 0.0 if side < 0.0 else max(z / single, mean, chart[of.HIGH] / limit)
    down = 0.0 if side > 0.0 else max(-z / single, -mean, chart[of.LOW] / limit)
    ratio = up if up >= down else -down
    way = 1.0 if ratio > 0.0 else -1.0
    if abs(ratio) >= 1.0 and chart[of.ON] != way:
        chart[of.ON], chart[of.ON_DAY] = way, day
    elif abs(ratio) < BACK:
        chart[of.ON] = 0.0
    return ratio


@njit("f8(f8)", cache=True, nogil=True)
def grown(age: float) -> float:
    """Return the days of growth at the full rate that a horse has behind it at an age in days."""
    late = min(max(age - GROWN_FROM, 0.0), GROWN_AT - GROWN_FROM)
    return min(age, GROWN_FROM) + late - late * late / (2.0 * (GROWN_AT - GROWN_FROM))


@njit("void(f8[::1], f8, f8, f8[::1])", cache=True, nogil=True)
def carry(horse: Floats, day: float, foaled: float, v: Floats) -> None:
    """Carry a horse's state to a day; a horse that was never seen begins as the yard's horses are."""
    if np.isnan(horse[of.SEEN]):
        horse[:] = 0.0
        horse[of.USUAL], horse[of.SLOPE] = v[of.CENTRE], v[of.GROWTH]
        horse[of.UU], horse[of.SS], horse[of.PP] = v[of.BETWEEN], v[of.GROWTH_VARIANCE], v[of.PASS_VARIANCE]
    else:
        gap = day - horse[of.SEEN]
        w = 0.0 if np.isnan(foaled) else grown(day - foaled) - grown(horse[of.SEEN] - foaled)
        keep = np.exp(-gap / v[of.PASS_DAYS])
        horse[of.USUAL] += w * horse[of.SLOPE]
        horse[of.UU] += 2.0 * w * horse[of.US] + w * w * horse[of.SS] + v[of.WALK] * gap
        horse[of.US] += w * horse[of.SS]
        horse[of.UP_] = keep * (horse[of.UP_] + w * horse[of.SP])
        horse[of.SP] *= keep
        horse[of.PASSING] *= keep
        horse[of.PP] = keep * keep * horse[of.PP] + (1.0 - keep * keep) * v[of.PASS_VARIANCE]
    horse[of.SEEN] = day


@njit("f8(f8[::1])", cache=True, nogil=True)
def spread(horse: Floats) -> float:
    """Return how many times the yard's variance a horse's readings have, drawn to 1."""
    return float(min(max((POOLED + horse[of.SPREAD]) / (POOLED + horse[of.SPREAD_N]), 0.4), 6.0))


@njit("void(f8[::1], f8, f8, f8, f8[::1])", cache=True, nogil=True)
def learn_reading(horse: Floats, off: float, z: float, extra: float, v: Floats) -> None:
    """Bring a horse's state up to a reading.

    Args:
        horse: the state, carried to the day.
        off: the reading less its device's level, yard, barn, usual and passing part.
        z: how far off it is, in standard deviations of its own.
        extra: variance of the reading beyond that of its kind: its own known error, and that of what was taken off.
        v: what was learned of the kind.
    """
    far = abs(z)
    clipped = min(far, of.CLIP)
    horse[of.SPREAD] = FADES * horse[of.SPREAD] + clipped * clipped * spread(horse)
    horse[of.SPREAD_N] = FADES * horse[of.SPREAD_N] + 1.0
    if far >= NONE:
        return
    noise = (v[of.NOISE] + extra) * (1.0 if far <= FULL else far / FULL)
    u, s, p = horse[of.UU] + horse[of.UP_], horse[of.US] + horse[of.SP], horse[of.UP_] + horse[of.PP]
    whole = u + p + noise
    horse[of.USUAL] += u / whole * off
    horse[of.SLOPE] += s / whole * off
    horse[of.PASSING] += p / whole * off
    horse[of.UU] -= u * u / whole
    horse[of.US] -= u * s / whole
    horse[of.UP_] -= u * p / whole
    horse[of.SS] -= s * s / whole
    horse[of.SP] -= s * p / whole
    horse[of.PP] -= p * p / whole
