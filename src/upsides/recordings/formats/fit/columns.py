"""The columns of a recording, out of records."""

import numpy as np

from upsides.recordings.formats.fit import profile
from upsides.recordings.formats.fit.developer import developer_columns
from upsides.recordings.formats.fit.messages import Floats, Messages
from upsides.recordings.formats.fit.times import seconds
from upsides.recordings.formats.fit.walking import Walk

Columns = dict[str, Floats]
PACKED = 12
"""Bits of a speed in 1/100 m/s, and of a distance in 1/16 m that starts again at nought, packed into three bytes."""


def record_columns(walk: Walk, records: Messages) -> Columns:
    """Return (n,) columns of records, by the names of a recording's."""
    column = records.column
    packed_speed, packed_distance = _packed(records)
    told = {
        "latitude": column(profile.LATITUDE),
        "longitude": column(profile.LONGITUDE),
        "height_m": _first(column(profile.ENHANCED_ALTITUDE), column(profile.ALTITUDE)),
        "speed_ms": _first(column(profile.ENHANCED_SPEED), column(profile.SPEED), packed_speed),
        "accuracy_m": column(profile.ACCURACY),
        "distance_m": _first(column(profile.DISTANCE), packed_distance),
        "heart_bpm": column(profile.HEART_RATE),
        "air_c": column(profile.TEMPERATURE),
    }
    own = developer_columns(walk, records)
    millisecond = own.pop("millisecond", np.full(len(records), np.nan)) / 1000
    fraction = _first(np.where((millisecond >= 0) & (millisecond < 1), millisecond, np.nan), column(profile.TIME_128))
    told["time_s"] = seconds(walk, records) + np.nan_to_num(fraction)
    return told | {name: _first(told[name], values) for name, values in own.items()}


def _first(*columns: Floats) -> Floats:
    """Return of each fix the value of the first column that has one."""
    told = columns[0]
    for column in columns[1:]:
        lacking = np.isnan(told)
        if lacking.any():
            told = np.where(lacking, column, told)
    return told


def _packed(records: Messages) -> tuple[Floats, Floats]:
    """Return (n,) speed, m/s, and (n,) distance, m, of three packed bytes; the distance is added up from the first."""
    speed, distance = np.full((2, len(records)), np.nan)
    for part, (raw,) in records.arrays(profile.PACKED_SPEED_DISTANCE.number):
        if raw.shape[1] != 3:
            continue
        field = part.definition.fields[profile.PACKED_SPEED_DISTANCE.number]
        low, middle, high = part.rows[:, field.start : field.start + 3].astype(np.int64).T
        given = (low & middle & high) != 0xFF
        speed[part.index] = np.where(given, (low | (middle & 0x0F) << 8) / 100, np.nan)
        distance[part.index] = np.where(given, middle >> 4 | high << 4, np.nan)
    given = np.isfinite(distance)
    if given.any():
        steps = np.diff(distance[given], prepend=0.0) % (1 << PACKED)
        distance[given] = np.cumsum(steps) / 16
    return speed, distance
