"""Acceleration, written in messages of up to 32 samples, or as developers' devices do, within records."""

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.formats.fit import profile
from upsides.recordings.formats.fit.layout import (
    BYTE_OF,
    SINT16,
    STRING,
    UINT8,
    UINT16,
    UINT32,
    Column,
    defined,
    message,
    rows,
)
from upsides.recordings.recording import Motion, Recording

LOCAL = 1
MOST, LONGEST_GAP_S = 32, 1.0
"""Samples of a message, and the time between two of them: together less than the 65 s that a message can span."""
MOST_WITHIN, CENTIMETRES = 100, 100
"""Samples of a record, less than the 255 bytes of a field; and what a speed is multiplied by."""
Floats = NDArray[np.float64]


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


def within_records(recording: Recording) -> tuple[bytes, list[Column]]:
    """Return acceleration and dense speed as developers' fields of records: what describes them, and the columns.

    A record holds what was measured since the one before, up to its own time; it must be of some time, and later than
    the one before. Acceleration is kept to 1/1000 g, speed to 1 cm/s. More than `MOST_WITHIN` samples a record, the
    oldest ones, are left out: a field has at most 255 bytes.
    """
    told: list[tuple[str, str, int, int, Floats]] = []
    if recording.motion is not None:
        for axis, values in zip("xyz", _since(recording, recording.motion.time_s, recording.motion.g), strict=True):
            told.append((f"accel_{axis}", "mg", SINT16, 1, values * 1000))
    if recording.speeds is not None:
        (values,) = _since(recording, recording.speeds.time_s, recording.speeds.ms[:, None])
        told.append(("speed", "m/s", UINT16, CENTIMETRES, values * CENTIMETRES))
    described = [_described(number, *field[:4]) for number, field in enumerate(told, start=1)]
    columns = [Column(n, base, values, developer=True) for n, (_, _, base, _, values) in enumerate(told, start=1)]
    return b"".join(described), columns


def _described(number: int, name: str, unit: str, base: int, scale: int) -> bytes:
    columns = [
        Column(0, UINT8, np.zeros(1)),
        Column(1, UINT8, np.full(1, float(number))),
        Column(2, UINT8, np.full(1, float(BYTE_OF[base]))),
        Column(3, STRING, name),
        Column(6, UINT8, np.full(1, float(scale))),
        Column(8, STRING, unit),
    ]
    return message(0, profile.FIELD_DESCRIPTION, columns)


def _since(recording: Recording, time_s: Floats, values: Floats) -> Floats:
    """Return (a, n, c) values (k, a) by the records in which they are written, NaN at the end of a record's."""
    record = np.searchsorted(recording.time_s, time_s, side="left")
    usual = float(np.median(np.diff(recording.time_s)))
    kept = record < len(recording)
    kept[kept] = recording.time_s[record[kept]] - time_s[kept] < usual
    record, values = record[kept], values[kept]
    count = np.bincount(record, minlength=len(recording))
    left = count[record] - (np.arange(record.size) - (np.cumsum(count) - count)[record])
    fits = left <= MOST_WITHIN
    count = np.minimum(count, MOST_WITHIN)
    told = np.full((values.shape[1], len(recording), max(int(count.max(initial=1)), 2)), np.nan)
    told[:, record[fits], (count[record] - left)[fits]] = values[fits].T
    return told
