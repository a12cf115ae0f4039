"""Simulated mornings, cleaned: what truly happened beside what the track says. Made once a process."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from upsides.demo.morning_sim.morning import alone
from upsides.demo.morning_sim.noise import drifting
from upsides.demo.morning_sim.receiver import Receiver
from upsides.demo.morning_sim.truth import Truth
from upsides.recordings.track import Plane, Track
from upsides.recordings.tracking import track_of

Floats = NDArray[np.float64]

RECEIVERS = (
    Receiver(rate_hz=1.0, heart=False),
    Receiver(rate_hz=5.0, heart=False),
    Receiver(rate_hz=10.0, heart=False),
    Receiver(rate_hz=1.0, says_speed=False, says_accuracy=False, heart=False),
)
SEEDS = range(16)


@dataclass(frozen=True, eq=False)
class Clocked:
    truth: Truth
    track: Track

    def true_metres(self, moments: Floats | float) -> Floats:
        return np.interp(moments, self.truth.time_s, self.truth.place_m)

    def true_moments(self, metres: Floats | float) -> Floats:
        return np.interp(metres, self.truth.place_m, self.truth.time_s)

    def broken(self, begin_s: float, end_s: float) -> bool:
        """Whether the track has a gap between two moments."""
        during = (self.track.time_s >= begin_s) & (self.track.time_s <= end_s)
        return np.unique(self.track.stretch[during]).size > 1


@lru_cache(maxsize=1)
def clocked() -> tuple[Clocked, ...]:
    """Sixteen mornings, four kinds of receiver, a dropout under trees and two reflections each; three in four fast."""
    made = []
    for seed in SEEDS:
        morning = alone(seed, RECEIVERS[seed % 4], fast=seed % 16 < 12)
        made.append(Clocked(morning.truth, track_of(morning.recording)))
    return tuple(made)


def track_of_speeds(speed_ms: Floats, *, rate_hz: float = 1.0, sd_ms: float = 0.1, start_s: float = 1e9) -> Track:
    """A track along a straight line to the east, of which the speed at every moment is given."""
    n = speed_ms.size
    along = np.concatenate([[0.0], np.cumsum(0.5 * (speed_ms[1:] + speed_ms[:-1]) / rate_hz)])
    level, flat = np.full(n, 50.0), np.zeros(n)
    return Track(
        plane=Plane(49.5, -15.0),
        time_s=start_s + np.arange(n) / rate_hz,
        east_m=along,
        north_m=flat,
        position_sd_m=np.full(n, 1.0),
        speed_ms=speed_ms,
        speed_sd_ms=np.full(n, sd_ms),
        along_m=along,
        height_m=level,
        gradient=flat,
        heart_bpm=np.full(n, np.nan),
        stretch=np.zeros(n, dtype=np.int64),
        kept=1.0,
        heart_kept=np.nan,
        height_from="device",
    )


def erring(rng: np.random.Generator, speed_ms: Floats, sd_ms: float, memory: float) -> Floats:
    """Speeds with a lasting error."""
    return speed_ms + drifting(rng, speed_ms.size, sd_ms, memory)
