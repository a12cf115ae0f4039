"""A simulated yard of one kind of reading, whose truth is known."""

from dataclasses import dataclass

import numpy as np

from upsides.condition.monitoring.kinds import Kind
from upsides.condition.monitoring.readings import Readings, readings_of

FIRST = 15000
KIND = Kind("reading", "units", "both", 0.05)


@dataclass
class Simulated:
    """A grid (horses, days) of values; NaN where nothing was read."""

    value: np.ndarray
    barn: np.ndarray
    device: np.ndarray

    def readings(self, kind: Kind = KIND) -> Readings:
        horse, day = np.nonzero(np.isfinite(self.value))
        return readings_of(
            horse, 0, FIRST + day, self.value[horse, day], barn=self.barn[horse], device=self.device[horse, day],
            kinds=(kind,),
        )  # fmt: skip


def simulate(
    seed: int, horses: int = 60, days: int = 300, barns: int = 4, *, noise: float = 1.0, passing: float = 0.8,
    fades: float = 3.0, yard: float = 0.5, barn: float = 0.3, between: float = 5.0, often: float = 0.8,
) -> Simulated:  # fmt: skip
    """Horses about their own usuals, off for some days, with effects of the day on yard and barn; one device a barn."""
    rng = np.random.default_rng(seed)
    stands = np.arange(horses) % barns
    off = np.empty((horses, days))
    keep = np.exp(-1.0 / fades)
    off[:, 0] = rng.normal(0, passing, horses)
    for day in range(1, days):
        off[:, day] = keep * off[:, day - 1] + np.sqrt(1 - keep**2) * rng.normal(0, passing, horses)
    value = 100 + rng.normal(0, between, (horses, 1)) + off + rng.normal(0, noise, (horses, days))
    value += rng.normal(0, yard, days) + rng.normal(0, barn, (barns, days))[stands]
    value[rng.random((horses, days)) > often] = np.nan
    return Simulated(value, stands, np.broadcast_to(stands[:, None], value.shape).copy())
