"""Acceleration, written in messages of up to 32 samples."""

import numpy as np

from upsides.recordings.formats.fit import profile
from upsides.recordings.formats.fit.layout import SINT16, UINT16, UINT32, Column, defined, rows
from upsides.recordings.recording import Motion

LOCAL = 1
MOST, LONGEST_GAP_S = 32, 1.0
"""Samples of a message, and the time between two of them: together less than the 65 s that a message can span."""


def written_motion(motion: Motion | None) -> bytes:
    """Return messages of acceleration, to a millisecond and 1/1000 g; a sample without a time is left out."""
    told = np.isfinite(motion.time_s) if motion else np.zeros(0, dtype=bool)
    if motion is None or not told.any():
        return b""
    milliseconds = np.rint((motion.time_s[told] - profile.EPOCH_S) * 1000)
    steps = np.diff(milliseconds, prepend=milliseconds[0])
    index = np.arange(milliseconds.size)
    start = np.maximum.accumulate(np.where((steps < 0) | (steps > LONGEST_GAP_S * 1000), index, 0))
    slot = (index - start) % MOST
    message = np.cumsum(slot == 0) - 1
    first = milliseconds[slot == 0]
    table = np.full((first.size, MOST, 4), np.nan)
    table[message, slot, 0] = milliseconds - first[message]
    table[message, slot, 1:] = motion.g[told] * 1000
    columns = [
        Column(profile.TIMESTAMP, UINT32, np.floor(first / 1000)),
        Column(0, UINT16, first % 1000),
        Column(1, UINT16, table[..., 0]),
        *(Column(8 + axis, SINT16, table[..., 1 + axis]) for axis in range(3)),
    ]
    return defined(LOCAL, profile.ACCELEROMETER, columns) + rows(LOCAL, columns, first.size).tobytes()
