"""Recordings for tests of the books: made of a known way, so that what is measured of them can be told beforehand."""

from datetime import UTC, datetime

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.formats.fit import write_fit
from upsides.recordings.plane import from_plane
from upsides.recordings.recording import Device, Recording
from upsides.recordings.track import Plane
from upsides.trade.units import FURLONG_M

Floats = NDArray[np.float64]

PLANE = Plane(latitude=49.5, longitude=-15.0)
"""In the sea, where no yard is."""
HZ = 5.0
CANTER_MS, WALK_MS = 10.0, 1.7
LENGTH_M = 6 * FURLONG_M
"""Length of the gallop below, from the plane's point due north."""
LINE = [
    [float(a), float(b), None]
    for a, b in zip(*from_plane(PLANE, np.zeros(13), np.linspace(0, LENGTH_M, 13)), strict=True)
]
"""A gallop of six furlongs, as the books keep it."""
AT = datetime(2026, 6, 1, 5, 30, tzinfo=UTC)


def way(canter_ms: float = CANTER_MS) -> tuple[Floats, Floats]:
    """Return speeds at each moment of a walk, a canter over the gallop's length, and a walk, and where it then is."""
    up = np.linspace(WALK_MS, canter_ms, int(8 * HZ))
    length = LENGTH_M + 100.0
    speed = np.concatenate([
        np.full(int(60 * HZ), WALK_MS), up, np.full(int(length / canter_ms * HZ), canter_ms), up[::-1],
        np.full(int(60 * HZ), WALK_MS),
    ])  # fmt: skip
    before = (60 * WALK_MS) + 8 * (WALK_MS + canter_ms) / 2 + 50.0
    return speed, np.cumsum(speed) / HZ - before


def recording(
    start: datetime = AT,
    *,
    serial: str = "4711",
    name: str = "morning.fit",
    canter_ms: float = CANTER_MS,
    seed: int = 1,
    beside_m: float = 2.0,
    behind_m: float = 0.0,
) -> Recording:
    """Return a recording of a canter up the gallop, 50 m before its start to 50 m past its end at an even speed."""
    rng = np.random.default_rng(seed)
    speed, north = way(canter_ms)
    time = start.timestamp() + np.arange(speed.size) / HZ
    east = beside_m + 0.3 * np.sin(np.arange(speed.size) / 200)
    latitude, longitude = from_plane(PLANE, east, north - behind_m)
    return Recording.of_columns(
        name,
        "fit",
        speed.size,
        time_s=time,
        latitude=latitude,
        longitude=longitude,
        height_m=np.full(speed.size, 100.0),
        speed_ms=speed + 0.05 * rng.standard_normal(speed.size),
        heart_bpm=np.round(90 + 8 * speed + rng.standard_normal(speed.size)),
        device=Device("7", "30", serial),
        sport="horse",
    )


def fit(start: datetime = AT, **more: object) -> bytes:
    """Return the same as a FIT file."""
    return write_fit(recording(start, **more))  # type: ignore[arg-type]
