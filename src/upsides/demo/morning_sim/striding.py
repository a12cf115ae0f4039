"""How a horse strides, and what of it a device on it feels."""

import numpy as np
from numpy.typing import NDArray

from upsides.demo.morning_sim.mover import Mover
from upsides.demo.morning_sim.moving import CANTER, TROT, WALK
from upsides.recordings.recording import Motion

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

SURGE_MS = 0.2
"""By how much the speed of a galloping horse's saddle swings within a stride, m/s; common practice, no source. That it
does is what makes stride rate readable from 10 Hz speed (Pfau et al. 2022)."""
BEAT_G, NOISE_G = 0.55, 0.12
"""What of a trotting trunk's rise and fall comes twice a stride, and what a device adds from moment to moment, g;
common practice, no source."""


def stride_rate(mover: Mover, speed_ms: Floats, gait: Ints) -> Floats:
    """Return strides a second; 0 when standing.

    Canter and gallop follow the line through 4.455 m at 9 m/s and 7.123 m at 17 m/s (Witte et al. 2006). Walk and trot:
    common practice, no source.
    """
    length = 4.455 + (7.123 - 4.455) / 8.0 * (speed_ms - 9.0)
    galloping = speed_ms / np.maximum(length, 1.5)
    trotting = 1.30 + 0.06 * (speed_ms - 3.5)
    walking = 0.85 + 0.12 * (speed_ms - 1.7)
    by_gait = np.select([gait >= CANTER, gait == TROT, gait == WALK], [galloping, trotting, walking], 0.0)
    return np.maximum(by_gait / mover.stride, 0.0)


def phase(rate_hz: Floats, moments_hz: float) -> Floats:
    """Return how many strides were made by each moment, a fraction within the stride included."""
    return np.cumsum(rate_hz) / moments_hz


def surge(strides: Floats, gait: Ints) -> Floats:
    """Return by how much the speed swings within the stride, m/s: once a stride in canter, twice and less in trot."""
    once, twice = np.sin(2.0 * np.pi * strides), np.sin(4.0 * np.pi * strides)
    return np.select([gait >= CANTER, gait == TROT], [SURGE_MS * (once + 0.25 * twice), 0.06 * twice], 0.0)


def felt(
    rng: np.random.Generator,
    time_s: Floats,
    strides: Floats,
    gait: Ints,
    speed_ms: Floats,
    rate_hz: float,
    uneven_g: float = 0.05,
) -> Motion:
    """Return what an accelerometer on the horse feels; sizes and shapes are common practice, no source.

    Args:
        rng: source of chance.
        time_s: (k,) moments, seconds since 1970.
        strides: (k,) strides made.
        gait: (k,) gaits.
        speed_ms: (k,) speed.
        rate_hz: how often it measures.
        uneven_g: what of the rise and fall at trot comes once a stride and not twice.
    """
    fine = np.arange(time_s[0], time_s[-1], 1.0 / rate_hz)
    turn = 2.0 * np.pi * np.interp(fine, time_s, strides)
    kind = gait[np.clip(np.searchsorted(time_s, fine), 0, gait.size - 1)]
    hard = np.interp(fine, time_s, speed_ms) / 15.0
    bound = np.select([kind >= CANTER, kind == TROT, kind == WALK], [0.9 * hard, uneven_g, 0.05], 0.0)
    beat = np.select([kind >= CANTER, kind == TROT, kind == WALK], [0.4 * hard, BEAT_G, 0.08], 0.0)
    up = 1.0 + bound * np.sin(turn) + beat * np.sin(2.0 * turn + 0.6)
    fore = 0.5 * bound * np.cos(turn) + 0.2 * beat * np.cos(2.0 * turn)
    side = 0.15 * bound * np.sin(turn + 1.0)
    g = np.stack([fore, side, up], axis=1) + NOISE_G * rng.standard_normal((fine.size, 3))
    return Motion(fine, g)
