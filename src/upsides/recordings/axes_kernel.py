"""Compiled: two axes that share a covariance, each at constant speed but for white noise in its acceleration.

    x_k = F x_{k-1} + w_k,   F = [[1, d], [0, 1]],   cov(w_k) = Q = q [[d^3/3, d^2/2], [d^2/2, d]]
    z_k = place_k + noise of variance r_k

A Kalman filter, then the fixed-interval smoother of Rauch, Tung and Striebel (1965, AIAA Journal 3:1445). Neither ever
takes one large number from another that is nearly as large: the determinant of the covariance is carried along (after a
measurement times r / S, after a step plus terms of Q), the gain C is reckoned in one of two ways, by whether the step
keeps or forgets, and P_s = C P_s' C' + C Q F'^-1 is a sum of two positive matrices.
"""

import numpy as np
from numba import njit
from numpy.typing import NDArray

from upsides.recordings.excursions import SHARP_MS2

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

MOST_REFUSED = 5
"""After so many measurements in a row that lie out of reach, the next one is believed: it is we who were lost."""


@njit("void(f8[::1], b1[::1], f8, f8[:,::1], f8[:,::1])", cache=True, nogil=True, error_model="numpy")
def _backward(step: Floats, first: Flags, q: float, state: Floats, covariance: Floats) -> None:
    """Turn filtered states into smoothed ones, in place."""
    for k in range(step.size - 2, -1, -1):
        if first[k + 1]:
            continue
        d = step[k + 1]
        p, r, s, det = covariance[k, 0], covariance[k, 1], covariance[k, 2], covariance[k, 3]
        q1, q2, q3 = q * d**3 / 3, q * d * d / 2, q * d
        a, b, c = p + d * (2 * r + d * s), r + d * s, s
        det += a * q3 + c * q1 - 2 * b * q2 + q * q * d**4 / 12
        a, b, c = a + q1, b + q2, c + q3
        if q3 > s:  # the step forgets more than it keeps: C = P F' P'^-1
            c11, c12 = ((p + d * r) * c - r * b) / det, (r * a - (p + d * r) * b) / det
            c21, c22 = ((r + d * s) * c - s * b) / det, (s * a - (r + d * s) * b) / det
        else:  # C = F^-1 (I - Q P'^-1)
            c21, c22 = (q3 * b - q2 * c) / det, 1 - (q3 * a - q2 * b) / det
            c11, c12 = 1 - (q1 * c - q2 * b) / det - d * c21, (q1 * b - q2 * a) / det - d * c22
        for axis in (0, 2):
            x, u = state[k, axis], state[k, axis + 1]
            off_x, off_u = state[k + 1, axis] - (x + d * u), state[k + 1, axis + 1] - u
            state[k, axis], state[k, axis + 1] = x + c11 * off_x + c12 * off_u, u + c21 * off_x + c22 * off_u
        # what the state still varies by when the next one is known: C Q F'^-1
        w11, w12, w22 = -c11 * q * d**3 / 6 - c12 * q2, c11 * q2 + c12 * q3, c21 * q2 + c22 * q3
        a, b, c = covariance[k + 1, 0], covariance[k + 1, 1], covariance[k + 1, 2]
        covariance[k, 0] = c11 * (c11 * a + 2 * c12 * b) + c12 * c12 * c + w11
        covariance[k, 1] = c21 * (c11 * a + c12 * b) + c22 * (c11 * b + c12 * c) + w12
        covariance[k, 2] = c21 * (c21 * a + 2 * c22 * b) + c22 * c22 * c + w22


@njit(
    "void(f8[::1], b1[::1], f8[::1], f8[::1], f8[::1], f8, f8[::1], f8, f8[:,::1], f8[:,::1], b1[::1])",
    cache=True,
    error_model="numpy",
    nogil=True,
)
def smooth(
    step: Floats, first: Flags, east: Floats, north: Floats, variance: Floats,
    q: float, prior: Floats, gate: float, state: Floats, covariance: Floats, used: Flags,
) -> None:  # fmt: skip
    """Write the smoothed states and what they are worth.

    Args:
        step: (n,) seconds (or metres) since the moment before.
        first: (n,) where a stretch begins; each begins with a measurement.
        east: (n,) measured places, NaN where not measured.
        north: (n,) the same on the other axis.
        variance: (n,) of a measurement on each axis.
        q: spectral density of the acceleration, m^2/s^3.
        prior: at the first place of a stretch: variance of place and of speed, mean speed on each axis.
        gate: a measurement further off than this (squared, in variances, both axes together), what a sharp change of
            speed could have done taken off, is not used.
        state: (n, 4) written: place, speed, place, speed.
        covariance: (n, 4) written: variance of place, covariance with speed, variance of speed, determinant.
        used: (n,) written: which measurements were used.
    """
    n = step.size
    a, b, c, det = 0.0, 0.0, 0.0, 0.0
    x, u, y, v = 0.0, 0.0, 0.0, 0.0
    refused, since = 0, 0.0
    for k in range(n):
        d = step[k]
        since += d
        if first[k]:
            a, b, c, det = prior[0], 0.0, prior[1], prior[0] * prior[1]
            x, u, y, v = east[k], prior[2], north[k], prior[3]
            refused = 0
        else:
            x, y = x + d * u, y + d * v
            a, b = a + d * (2 * b + d * c), b + d * c
            det += q * d * (a - d * b + d * d * c / 3) + q * q * d**4 / 12
            a, b, c = a + q * d**3 / 3, b + q * d * d / 2, c + q * d
        used[k] = False
        if not np.isnan(east[k]):
            total = a + variance[k]
            off_x, off_y = east[k] - x, north[k] - y
            far = np.hypot(off_x, off_y) - SHARP_MS2 / 2 * since * since
            if far > 0 and far * far > gate * total and refused < MOST_REFUSED:
                refused += 1
            else:
                refused, since, used[k] = 0, 0.0, True
                x, u = x + a / total * off_x, u + b / total * off_x
                y, v = y + a / total * off_y, v + b / total * off_y
                kept = variance[k] / total
                a, b, det = a * kept, b * kept, det * kept
                c = (det + b * b) / a
        state[k, 0], state[k, 1], state[k, 2], state[k, 3] = x, u, y, v
        covariance[k, 0], covariance[k, 1], covariance[k, 2], covariance[k, 3] = a, b, c, det
    _backward(step, first, q, state, covariance)


@njit(
    "void(f8[::1], b1[::1], f8[::1], f8[::1], f8[::1], f8, f8, f8[::1], f8[::1])",
    cache=True,
    nogil=True,
    error_model="numpy",
)
def innovations(
    step: Floats, first: Flags, east: Floats, north: Floats, weight: Floats,
    q: float, far: float, off: Floats, total: Floats,
) -> None:  # fmt: skip
    """Write how far each measurement lies from what those before it foretell, and the variance foretold.

    Args:
        step: (n,) seconds since the moment before.
        first: (n,) where a stretch begins; each begins with a measurement.
        east: (n,) measured places, NaN where not measured.
        north: (n,) the same on the other axis.
        weight: (n,) variance of a measurement, in units of a common one.
        q: spectral density in the same unit.
        far: a measurement further off than this (squared, in variances foretold) moves nothing.
        off: (n,) written: squared distance over the variance foretold; NaN for the first two of a stretch.
        total: (n,) written: the variance foretold.
    """
    a, b, c = 0.0, 0.0, 0.0
    x, u, y, v = 0.0, 0.0, 0.0, 0.0
    seen = 0
    for k in range(step.size):
        d = step[k]
        if first[k]:
            a, b, c = 1e6, 0.0, 1e6
            x, u, y, v = east[k], 0.0, north[k], 0.0
            seen = 0
        else:
            x, y = x + d * u, y + d * v
            a, b, c = a + d * (2 * b + d * c) + q * d**3 / 3, b + d * c + q * d * d / 2, c + q * d
        off[k] = total[k] = np.nan
        if np.isnan(east[k]):
            continue
        spread = a + weight[k]
        off_x, off_y = east[k] - x, north[k] - y
        seen += 1
        if seen > 2:
            total[k] = spread
            off[k] = (off_x * off_x + off_y * off_y) / spread
            if off[k] > far:
                continue
        x, u = x + a / spread * off_x, u + b / spread * off_x
        y, v = y + a / spread * off_y, v + b / spread * off_y
        a, b, c = a * weight[k] / spread, b * weight[k] / spread, c - b * b / spread
