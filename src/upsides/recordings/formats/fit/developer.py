"""Fields that a device's own programs define: a heart rate, a speed or the part of a second among them."""

from dataclasses import dataclass

import numpy as np

from upsides.recordings.formats.fit.messages import Floats, Messages, messages_of
from upsides.recordings.formats.fit.profile import FIELD_DESCRIPTION, RECORD, Spec
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
"""What a field is by its name, written without spaces, dashes and capitals."""
UNIT = {"km/h": 1 / 3.6, "kmh": 1 / 3.6, "kph": 1 / 3.6, "mph": 0.44704, "km": 1000.0, "ft": 0.3048, "mi": 1609.344}
"""What a unit is in metres, or in metres a second; any other is taken to be these already."""


@dataclass(frozen=True, slots=True)
class Described:
    """A developer's field that means something here.

    Attributes:
        developer: number of the developer in the file.
        number: of his field.
        base: its type.
        column: the recording's column that it belongs to, or "millisecond".
        spec: its scale and offset.
        unit: what the value is multiplied by.
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
        native = BY_FIELD.get(int(field)) if field is not None and message in {None, RECORD} else None
        column = native or BY_NAME.get("".join(filter(str.isalnum, name.lower())))
        if column:
            spec = Spec(number, scale or 1.0, offset or 0.0)
            found[developer, number] = Described(
                developer, number, base & 0x1F, column, spec, UNIT.get(unit.lower(), 1.0)
            )
    return list(found.values())


def developer_columns(walk: Walk, records: Messages) -> dict[str, Floats]:
    """Return (n,) columns of records that developers' fields hold, NaN where they do not."""
    told: dict[str, Floats] = {}
    for one in described(walk):
        for part in records.parts:
            field = part.definition.developer.get((one.developer, one.number))
            if field is None or not (raw := part.values(field, one.base)).shape[1]:
                continue
            column = told.setdefault(one.column, np.full(len(records), np.nan))
            values = (raw[:, 0] / one.spec.scale - one.spec.offset) * one.unit
            column[part.index] = np.where(np.isfinite(values), values, np.nan)
    return told
