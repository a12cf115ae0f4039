"""How noisy the fixes are and how lively the horse is, found from the recording itself.

Both show in the innovations, the distances between each measured place and the one that those before it foretell: with
the right spectral density q of the acceleration and the right variance r they are as large as foretold. The ratio q / r
is the one of highest likelihood; r is then such that the innovations' squares, in variances, are 2 on average.
Squares above `FAR` count as `FAR` in both, so that outliers pull little (Huber's second proposal, 1964, Annals of
Mathematical Statistics 35:73).

What is found is the part of the error that changes from fix to fix. What a receiver errs by for minutes at a time does
not show in its own track, moves the whole of it, and does no harm to speed.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.axes_kernel import innovations

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

FAR = 16.0
"""Squared innovations, in variances, count no more than this: beyond it lie 3 of 10 000 without outliers."""
MOST_FIXES, BLOCK = 2000, 250
"""Learn from so many fixes at most, in blocks of so many, those in which the horse moved most."""
LEAST_FIXES = 30
"""Do not learn from fewer. Our own limit."""
USUAL_Q, LEAST_Q, MOST_Q = 0.5, 0.1, 10.0
"""Spectral density of a horse's acceleration, m^2/s^3: where it cannot be learned; and the range in which it is looked
for. A change from trot to gallop, 1.5 m/s^2 held for 3 s, is about 7; a steady canter is below the least. Our own."""
USUAL_SD_M, LEAST_SD_M = 3.0, 0.1
"""Error of a position: where it cannot be learned; and what no receiver here is better than. Our own limits."""
USUAL_SPEED_SD, LEAST_SPEED_SD, GOING_MS = 0.3, 0.05, 2.0
"""Error of the receiver's own speed, m/s: where it cannot be learned; what no receiver is better than; learned only
where the horse goes faster than the last. Our own limits."""
MEDIAN_OF_SQUARE = 0.4549364
"""Median of chi-squared with one degree of freedom."""


def noise_of(step: Floats, first: Flags, east: Floats, north: Floats, weight: Floats) -> tuple[float, float]:
    """Return the spectral density q, m^2/s^3, and the factor by which `weight` is the variance of a place.

    Args:
        step: (n,) seconds since the moment before.
        first: (n,) where a stretch begins, always with a measured place.
        east: (n,) metres, NaN where not measured.
        north: (n,) the same on the other axis.
        weight: (n,) the variances of places as far as they are known beforehand, m^2, or USUAL_SD_M squared.
    """
    measured = np.isfinite(east)
    if np.count_nonzero(measured) < LEAST_FIXES:
        return USUAL_Q, 1.0
    step, first, east, north, weight = _liveliest(step, first, east, north, weight)
    if np.bincount(np.cumsum(first)[np.isfinite(east)]).max() < 3:  # nothing is foretold before the third of a stretch
        return USUAL_Q, 1.0
    typical = float(np.median(weight))
    unit = weight / typical
    off, total = np.empty(step.size), np.empty(step.size)

    def fitted(log_ratio: float, far: float = np.inf) -> tuple[float, float]:
        """Return minus twice the log-likelihood a fix, and r, at a ratio q / r; what is `far` off moves nothing."""
        innovations(step, first, east, north, unit, 10.0**log_ratio, far, off, total)
        seen = np.isfinite(off)
        squares = off[seen]
        r = max(float(np.median(squares)) / (2 * np.log(2)), 1e-6)
        for _ in range(4):
            r *= float(np.mean(np.minimum(squares / r, FAR))) / 2
        return float(np.mean(2 * np.log(total[seen] * r) + np.minimum(squares / r, FAR))), r

    log_ratio = _lowest(fitted, -4, 4)
    r = fitted(log_ratio, 2 * FAR * fitted(log_ratio)[1])[1]
    return float(np.clip(10.0**log_ratio * r, LEAST_Q, MOST_Q)), max(r, LEAST_SD_M**2) / typical


def speed_variance(said: Floats, smoothed: Floats, smoothed_variance: Floats, first: Flags) -> float:
    """Return the variance of the receiver's own speed, m^2/s^2.

    The larger of two robust moments: what changes from fix to fix (second differences, variance six times that of one),
    and how far it lies from the speed of the smoothed places, beyond what those err by. The second shows a speed that
    lags or was taken from the places themselves.

    Args:
        said: (n,) the receiver's own speed, NaN where not known.
        smoothed: (n,) speed of the places smoothed without it.
        smoothed_variance: (n,) its variance.
        first: (n,) where a stretch begins.
    """
    going = np.isfinite(said) & (smoothed > GOING_MS)
    if np.count_nonzero(going) < LEAST_FIXES:
        return USUAL_SPEED_SD**2
    off = (said - smoothed)[going]
    beyond = float(np.median(off * off)) / MEDIAN_OF_SQUARE - float(np.mean(smoothed_variance[going]))
    bend = np.diff(said, 2)[going[2:] & ~first[2:] & ~first[1:-1]]
    bend = bend[np.isfinite(bend)]
    jitter = float(np.median(bend * bend)) / MEDIAN_OF_SQUARE / 6 if bend.size else 0.0
    return max(beyond, jitter, LEAST_SPEED_SD**2)


def _lowest(fitted: Callable[[float], tuple[float, float]], low: int, high: int) -> float:
    """Return where the first of two values is lowest: whole steps first, then halves, quarters and eighths about it."""
    value, place = min((fitted(float(whole))[0], float(whole)) for whole in range(low, high + 1))
    for width in (0.5, 0.25, 0.125):
        tried = [(fitted(place + side)[0], place + side) for side in (-width, width)]
        value, place = min([(value, place), *tried])
    return place


def _liveliest(
    step: Floats, first: Flags, east: Floats, north: Floats, weight: Floats
) -> tuple[Floats, Flags, Floats, Floats, Floats]:
    """Return the blocks in which the horse moved most, put together, each a stretch of its own."""
    n = east.size
    if n <= MOST_FIXES:
        return step, first, east, north, weight
    edges = np.arange(0, n - BLOCK + 1, BLOCK)
    moved = np.r_[0.0, np.hypot(np.diff(east), np.diff(north))]
    moved[first | ~np.isfinite(moved)] = 0.0
    chosen = np.sort(edges[np.argsort(np.add.reduceat(moved[: edges[-1] + BLOCK], edges))[-MOST_FIXES // BLOCK :]])
    rows = (chosen[:, None] + np.arange(BLOCK)).ravel()
    begins = np.flatnonzero(np.isfinite(east[rows]))
    starts = begins[np.searchsorted(begins, np.arange(0, rows.size, BLOCK), side="left").clip(max=begins.size - 1)]
    anew = first[rows]
    anew[starts] = True
    rows, anew = rows[starts[0] :], anew[starts[0] :]
    return step[rows], anew, east[rows], north[rows], weight[rows]
