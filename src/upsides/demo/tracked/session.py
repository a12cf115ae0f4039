"""One horse's morning with a tracker, as it was ordered: what its file, or what was measured of it, is made from."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from zlib import crc32

import numpy as np

WALKS, HACKS, STEADY, HALF, QUICK = "walk", "hack_canter", "steady_canter", "half_speed", "fast"


@dataclass(frozen=True, slots=True)
class Session:
    """One horse's morning.

    Args:
        seed: of the world.
        source_horse: the horse.
        beside: the horse that it worked with and that wore a tracker too; "" for none.
        serial: of the tracker.
        day: when, on the yard's own calendar.
        pulled_out: when it left the yard, an instant.
        pace: what was done: walk, hack_canter, steady_canter, half_speed, fast; of a pair what the slower one did.
        gallop: where, by name.
        furlongs: how far at that pace, 0 where it is not said.
        rider: login of who rode, "" where nobody knows.
        fit: how fit the horse was, 0 to 1.
        fault: "cut" for a file that breaks off, else "".
    """

    seed: int
    source_horse: str
    beside: str
    serial: str
    day: date
    pulled_out: datetime
    pace: str
    gallop: str
    furlongs: float
    rider: str
    fit: float
    fault: str

    @classmethod
    def of_row(cls, seed: int, row: Mapping[str, Any]) -> "Session":
        """Return a session of a row of `Books.outings`."""
        names = [name for name in cls.__slots__ if name != "seed"]
        return cls(seed, **{name: row[name] for name in names})

    @property
    def file(self) -> str:
        """Return what the tracker calls its file."""
        return f"{self.pulled_out:%y%m%d-%H%M}-{self.serial}.fit"

    @property
    def feels(self) -> bool:
        """Return whether its tracker writes acceleration: those whose serial number ends in 3 do."""
        return self.serial.endswith("3")

    def chance(self, of: str) -> np.random.Generator:
        """Return a source of chance of this horse's morning, for one purpose; the same each time."""
        return np.random.default_rng([self.seed, crc32(f"{of} {self.source_horse} {self.day}".encode())])
