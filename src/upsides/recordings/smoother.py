"""From places to a smooth way with its speed and errors: a Kalman filter and a fixed-interval smoother.

The horse keeps its velocity but for white noise in its acceleration, on both axes alike. Measured are places, and the
receiver's own speed where it gives one. With places alone the axes share one covariance (axes_kernel.py); the
receiver's speed ties them together along the direction of travel (coupled_kernel.py). How noisy both are is found from
the recording (noise.py): where the receiver states its error, that says how the fixes compare and the innovations say
how large it is on the whole.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.recordings import axes_kernel, coupled_kernel, noise

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

GATE = 30.0
"""A place further off than foretold than this, squared and in variances, is not used: 3 in 10 million by chance."""
WIDE_PLACE, WIDE_SPEED = 1e4, 400.0
"""Variances at the start of a stretch, m^2 about the first place measured and m^2/s^2 about standing still."""
SURE = 9.0
"""The direction of travel is taken as known where the squared speed is so many times its variance. Our own limit."""
SLOW_MS = 1.0
"""A receiver's speed below this says that the horse hardly moves, even where its direction is not known. Our own."""
WILD_MS = 2.0
"""A receiver's speed that is off by more than this, and beyond the gate, is not used. Our own limit."""


@dataclass(frozen=True, slots=True, eq=False)
class Smoothed:
    """The smoothed way of n moments.

    Attributes:
        east_m: (n,) metres.
        north_m: (n,) metres.
        east_ms: (n,) velocity, m/s.
        north_ms: (n,) velocity, m/s.
        speed_variance: (n,) of the speed, along the direction of travel (delta method), m^2/s^2.
        place_variance: (n,) of the place along the direction of travel, m^2.
        used: (n,) which places were used; false where none was measured.
        q: spectral density of the acceleration, m^2/s^3.
        place_sd: error of a place on each axis, m (of a typical one where the receiver states its own).
        speed_sd: error of the receiver's own speed, m/s; NaN where it was not used.
    """

    east_m: Floats
    north_m: Floats
    east_ms: Floats
    north_ms: Floats
    speed_variance: Floats
    place_variance: Floats
    used: Flags
    q: float
    place_sd: float
    speed_sd: float

    @property
    def speed_ms(self) -> Floats:
        """Length of the velocity, m/s."""
        return np.hypot(self.east_ms, self.north_ms)


def smoothed(
    time: Floats,
    first: Flags,
    east: Floats,
    north: Floats,
    *,
    speed: Floats | None = None,
    accuracy: Floats | None = None,
) -> Smoothed:
    """Smooth one way.

    Args:
        time: (n,) seconds, rising.
        first: (n,) where a stretch begins; each begins with a measured place.
        east: (n,) metres, NaN where not measured.
        north: (n,) the same on the other axis.
        speed: (n,) the receiver's own speed, m/s, NaN where not known.
        accuracy: (n,) what the receiver states of its horizontal error, m, NaN where it does not.
    """
    step = np.r_[0.0, np.diff(time)]
    weight = _weights(accuracy, time.size)
    q, factor = noise.noise_of(step, first, east, north, weight)
    variance = weight * factor
    place_sd = float(np.sqrt(np.median(variance)))
    alone = by_places(step, first, east, north, variance, q)
    if speed is None or not np.isfinite(speed).any():
        return Smoothed(*alone, q, place_sd, np.nan)
    own = noise.speed_variance(speed, np.hypot(alone[2], alone[3]), alone[4], first)
    return Smoothed(*with_speed(step, first, (east, north), variance, q, (speed, own), alone), q, place_sd, own**0.5)


Way = tuple[Floats, Floats, Floats, Floats, Floats, Floats, Flags]
"""Places and velocities on both axes, variances of speed and place along the way, places used."""


def by_places(step: Floats, first: Flags, east: Floats, north: Floats, variance: Floats, q: float) -> Way:
    """Smooth places alone; both axes share their covariance, which is then the same in every direction."""
    n = step.size
    state, covariance, used = np.empty((n, 4)), np.empty((n, 4)), np.empty(n, dtype=np.bool_)
    prior = np.array([WIDE_PLACE, WIDE_SPEED, 0.0, 0.0])
    axes_kernel.smooth(step, first, east, north, variance, q, prior, GATE, state, covariance, used)
    return state[:, 0], state[:, 2], state[:, 1], state[:, 3], covariance[:, 2], covariance[:, 0], used


def with_speed(
    step: Floats, first: Flags, place: tuple[Floats, Floats], variance: Floats, q: float,
    speed: tuple[Floats, float], before: Way,
) -> Way:  # fmt: skip
    """Smooth places and the receiver's speed (its values, its variance), its direction taken from the pass `before`."""
    n = step.size
    measured = np.column_stack([speed[0], *_direction(before), np.full(n, speed[1])])
    blind = (measured[:, 1] == 0) & (measured[:, 2] == 0)
    measured[blind & (speed[0] > SLOW_MS), 0] = np.nan
    off = np.abs(speed[0] - np.hypot(before[2], before[3]))
    measured[(off > WILD_MS) & (off * off > GATE * (speed[1] + before[4])), 0] = np.nan
    state, covariance, used = np.empty((n, 4)), np.empty((n, 4, 4)), np.empty(n, dtype=np.bool_)
    prior = np.array([WIDE_PLACE, WIDE_SPEED, 0.0, 0.0])
    places = np.column_stack(place)
    coupled_kernel.smooth(step, first, places, variance, measured, q, prior, GATE, state, covariance, used)
    u, v = state[:, 1], state[:, 3]
    length = np.maximum(np.hypot(u, v), 1e-9)
    u, v = u / length, v / length
    along = [
        u * u * covariance[:, i, i] + 2 * u * v * covariance[:, i, i + 2] + v * v * covariance[:, i + 2, i + 2]
        for i in (1, 0)
    ]
    return state[:, 0], state[:, 2], state[:, 1], state[:, 3], along[0], along[1], used


def _direction(way: Way) -> tuple[Floats, Floats]:
    """Return the direction of travel, (0, 0) where it cannot be told."""
    u, v, variance = way[2], way[3], way[4]
    squared = u * u + v * v
    sure = squared > SURE * variance
    length = np.sqrt(np.where(sure, squared, np.inf))
    return u / length, v / length


def _weights(accuracy: Floats | None, n: int) -> Floats:
    """Return the variances of places as the receiver states them, or the usual."""
    usual = noise.USUAL_SD_M
    if accuracy is None:
        return np.full(n, usual**2)
    stated = np.isfinite(accuracy) & (accuracy > 0)
    if not stated.any():
        return np.full(n, usual**2)
    typical = float(np.median(accuracy[stated]))
    return np.clip(np.where(stated, accuracy, typical), typical / 10, typical * 100) ** 2
