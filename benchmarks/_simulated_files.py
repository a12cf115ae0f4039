"""Files of simulated mornings, for the benchmarks of recordings."""

from dataclasses import replace
from functools import lru_cache
from itertools import count

import numpy as np

from upsides.demo.morning_sim.morning import alone
from upsides.demo.morning_sim.receiver import Receiver
from upsides.recordings.formats.fit import write_fit
from upsides.recordings.recording import Device, Recording

FIXES = 45 * 60 * 5
"""Three quarters of an hour, five times a second."""
DAY_S = 86_400.0
COLUMNS = (
    "time_s", "latitude", "longitude", "height_m", "speed_ms", "accuracy_m", "distance_m", "heart_bpm",
)  # fmt: skip


@lru_cache
def morning(seed: int) -> Recording:
    """Return the last three quarters of an hour of a simulated morning, its work in it."""
    tries = (alone(seed + 10_000 * turn, Receiver()).recording for turn in count())
    whole = next(one for one in tries if len(one) >= FIXES)  # some mornings are shorter
    return Recording.of_columns(
        whole.file,
        whole.format,
        FIXES,
        **{name: getattr(whole, name)[-FIXES:] for name in COLUMNS},
        device=Device("255", "1", str(1000 + seed)),
        sport="horse",
    )


def fit_file(seed: int, days: int = 0) -> bytes:
    """Return a simulated morning as a FIT file, some days later than it was simulated."""
    one = morning(seed)
    moved = replace(one, time_s=np.asarray(one.time_s + days * DAY_S))
    return write_fit(moved)
