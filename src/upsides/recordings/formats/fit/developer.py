"""Fields that a device's own programs define: a heart rate, a speed, acceleration, the part of a second."""

from dataclasses import dataclass
from math import nan

import numpy as np

from upsides.recordings.formats.fit.messages import Floats, Messages, Part, messages_of
from upsides.recordings.formats.fit.profile import ACCELEROMETER, FIELD_DESCRIPTION, RECORD, Spec
from upsides.recordings.formats.fit.walking import Walk

DEVELOPER_INDEX, NUMBER, BASE, NAME, SCALE, OFFSET, UNITS, OF_MESSAGE, OF_FIELD = 0, 1, 2, 3, 6, 7, 8, 14, 15
BY_FIELD = {
    3: "heart_bpm",
    6: "speed_ms",
    73: "speed_ms",
    5: "distance_m",
    2: "height_m",
    78: "height_m",
    31: "accuracy_m",
}
AXES = ("acceleration_x", "acceleration_y", "acceleration_z")
BY_ACCELEROMETER = {5 + axis: name for axis, name in enumerate(AXES)}
BY_ACCELEROMETER |= {8 + axis: name for axis, name in enumerate(AXES)}
"""Fields of the profile's message of acceleration that a developer's field may stand for."""
BY_NAME = {
    "heartrate": "heart_bpm",
    "hr": "heart_bpm",
    "speed": "speed_ms",
    "gpsspeed": "speed_ms",
    "distance": "distance_m",
    "altitude": "height_m",
    "gpsaccuracy": "accuracy_m",
    "timestampms": "millisecond",
    "milliseconds": "millisecond",
    "millisecond": "millisecond",
}
BY_NAME |= {
    name: f"acceleration_{axis}"
    for axis in "xyz"
    for name in (f"accel{axis}", f"acc{axis}", f"acceleration{axis}", f"accelerometer{axis}", f"{axis}acceleration")
}
"""What a field is by its name, written without spaces, dashes and capitals."""
UNIT = {"km/h": 1 / 3.6, "kmh": 1 / 3.6, "kph": 1 / 3.6, "mph": 0.44704, "km": 1000.0, "ft": 0.3048, "mi": 1609.344}
"""What a unit is in metres, or in metres a second; any other is taken to be these already."""
GRAVITY = 9.80665
UNIT |= {"g": 1.0, "mg": 0.001, "m/s^2": 1 / GRAVITY, "m/s2": 1 / GRAVITY, "m/s²": 1 / GRAVITY, "m/s/s": 1 / GRAVITY}
"""What a unit of acceleration is in standard gravities; `motion_in_records` finds it where none of these is named."""


@dataclass(frozen=True, slots=True)
class Described:
    """A developer's field that means something here.

    Attributes:
        developer: number of the developer in the file.
        number: of his field.
        base: its type.
        column: the recording's column that it belongs to, "millisecond", or one of `AXES`.
        spec: its scale and offset.
        unit: what the value is multiplied by; NaN of acceleration without a unit that is known.
    """

    developer: int
    number: int
    base: int
    column: str
    spec: Spec
    unit: float


def described(walk: Walk) -> list[Described]:
    """Return the developers' fields of records that mean something here, as the file describes them."""
    told = messages_of(walk, FIELD_DESCRIPTION)
    if not len(told):
        return []
    rows = np.column_stack(
        [told.column(Spec(number)) for number in (DEVELOPER_INDEX, NUMBER, BASE, SCALE, OFFSET, OF_MESSAGE, OF_FIELD)]
    )
    found: dict[tuple[int, int], Described] = {}
    for row, name, unit in zip(rows, told.texts(NAME), told.texts(UNITS), strict=True):
        if np.isnan(row[:3]).any():
            continue
        developer, number, base = (int(value) for value in row[:3])
        scale, offset, message, field = (None if np.isnan(value) else float(value) for value in row[3:])
        stands_for = BY_ACCELEROMETER if message == ACCELEROMETER else BY_FIELD if message in {None, RECORD} else {}
        native = stands_for.get(int(field)) if field is not None else None
        column = native or BY_NAME.get("".join(filter(str.isalnum, name.lower())))
        if column:
            spec = Spec(number, scale or 1.0, offset or 0.0)
            factor = UNIT.get(unit.lower(), nan if column in AXES else 1.0)
            found[developer, number] = Described(developer, number, base & 0x1F, column, spec, factor)
    return list(found.values())


def developer_columns(walk: Walk, records: Messages) -> dict[str, Floats]:
    """Return (n,) columns of records that developers' fields hold, NaN where they do not; of an array its last value.

    Acceleration is none of them: `motion_in_records` reads it.
    """
    told: dict[str, Floats] = {}
    for one in described(walk):
        for part in () if one.column in AXES else records.parts:
            if (values := values_of(one, part)).shape[1]:
                column = told.setdefault(one.column, np.full(len(records), np.nan))
                column[part.index] = last_of(values)
    return told


def values_of(one: Described, part: Part) -> Floats:
    """Return (k, c) values of a developer's field in units of ours, c of a message; c is 0 where it is not there."""
    field = part.definition.developer.get((one.developer, one.number))
    if field is None:
        return np.empty((len(part.rows), 0))
    values = (part.values(field, one.base) / one.spec.scale - one.spec.offset) * np.nan_to_num(one.unit, nan=1.0)
    return np.where(np.isfinite(values), values, np.nan)


def last_of(values: Floats) -> Floats:
    """Return (k,) the last value of each row (k, c) that is a number, NaN where none is."""
    known = np.isfinite(values)
    last = values.shape[1] - 1 - np.argmax(known[:, ::-1], axis=1)
    return np.asarray(values[np.arange(len(values)), last])
