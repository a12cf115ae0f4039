"""What developers' fields of records hold many times a record: acceleration and speed.

A field that is an array holds the values since the record before, evenly spaced, the last at the record's own time, as
the profile says of its own array of speeds (`speed_1s`). No file says how a device spaces them, so a time may be
wrong by a record's interval; the beat of strides does not depend on it. Values of nothing at the end are left out.
"""

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.formats.fit.developer import AXES, GRAVITY, described, values_of
from upsides.recordings.formats.fit.messages import Floats, Messages
from upsides.recordings.formats.fit.walking import Walk
from upsides.recordings.recording import Motion, Speeds

STILL = (1.0, GRAVITY, 1000.0)
"""How long gravity is in g, m/s2 and 1/1000 g; acceleration whose unit is not told is taken to be in the nearest."""
AS_LONG = 1.5
"""It must be that long to within this factor; our own choice."""


def motion_in_records(walk: Walk, records: Messages, time_s: Floats) -> Motion | None:
    """Return acceleration that developers' fields of records hold, None where they do not hold all three axes.

    Args:
        walk: the file.
        records: its n records.
        time_s: (n,) their times, seconds since 1970.
    """
    fields = {one.column: one for one in described(walk) if one.column in AXES}
    if len(fields) < len(AXES):
        return None
    found = []
    for part in records.parts:
        axes = [values_of(fields[axis], part) for axis in AXES]
        if len({axis.shape for axis in axes}) == 1:
            found.append(_spread(part.index, np.stack(axes, axis=2), time_s))
    time, g = _together(found, len(AXES))
    if not time.size:
        return None
    if any(np.isnan(one.unit) for one in fields.values()):
        scale = _of_gravity(g)
        if not scale:
            return None
        g = g / scale
    return Motion(time, g)


def speeds_in_records(walk: Walk, records: Messages, time_s: Floats) -> Speeds | None:
    """Return the receiver's speed where a developer's field of records is an array of it, None where none is."""
    found = [
        _spread(part.index, values[:, :, None], time_s)
        for one in described(walk)
        if one.column == "speed_ms"
        for part in records.parts
        if (values := values_of(one, part)).shape[1] > 1
    ]
    time, speed = _together(found, 1)
    return Speeds(time, np.asarray(speed[:, 0])) if time.size else None


def _spread(index: NDArray[np.int64], values: Floats, time_s: Floats) -> tuple[Floats, Floats]:
    """Return (m,) times and (m, a) values of those of (k, c, a) values that are numbers."""
    told = np.isfinite(values).all(axis=2) & np.isfinite(time_s[index])[:, None]
    rank, count = np.cumsum(told, axis=1), told.sum(axis=1, keepdims=True)
    before = (count - rank) / np.maximum(count, 1) * _interval(time_s)
    return (time_s[index][:, None] - before)[told], values[told]


def _interval(time_s: Floats) -> float:
    """Return the usual seconds between two records; 1 where that cannot be told."""
    known = np.unique(time_s[np.isfinite(time_s)])
    return float(np.median(np.diff(known))) if known.size > 1 else 1.0


def _together(found: list[tuple[Floats, Floats]], width: int) -> tuple[Floats, Floats]:
    """Return times in order, and their values."""
    time = np.concatenate([np.empty(0), *(one for one, _ in found)])
    values = np.concatenate([np.empty((0, width)), *(one for _, one in found)])
    order = np.argsort(time, kind="stable")
    return np.asarray(time[order]), np.asarray(values[order])


def _of_gravity(g: Floats) -> float:
    """Return how long gravity is in the unit of acceleration (m, 3), 0 where no unit of ours fits."""
    length = float(np.median(np.linalg.norm(g, axis=1)))
    nearest = min(STILL, key=lambda one: abs(np.log(max(length, 1e-9) / one)))
    return nearest if nearest / AS_LONG < length < nearest * AS_LONG else 0.0
