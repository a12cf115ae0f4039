"""The numbers of the FIT profile that a recording needs: messages, fields, their scales and offsets.

A value is its raw number divided by the scale, less the offset (SPECIFICATION.md).
"""

from dataclasses import dataclass

EPOCH_S = 631_065_600
"""1989-12-31 00:00:00 UTC, from which FIT counts seconds, in seconds since 1970-01-01."""
CLOCK_SET = 0x1000_0000
"""Smaller times count from when the device was switched on, not from the epoch."""
SEMICIRCLE = 180.0 / 2**31
"""Degrees in a semicircle, the unit of positions."""

FILE_ID, SESSION, LAP, RECORD, DEVICE_INFO = 0, 18, 19, 20, 23
HEART, PLACE, ACCELEROMETER, CALIBRATION, FIELD_DESCRIPTION = 132, 160, 165, 167, 206
NEEDED = frozenset(
    {FILE_ID, SESSION, LAP, RECORD, DEVICE_INFO, HEART, PLACE, ACCELEROMETER, CALIBRATION, FIELD_DESCRIPTION}
)
TIMESTAMP = 253
"""The field that holds a message's time, in every message that has one."""


@dataclass(frozen=True, slots=True)
class Spec:
    """A field that is read: its number, and what turns its raw number into a value.

    Attributes:
        number: in its message.
        scale: what the raw number is divided by.
        offset: what is taken off then.
    """

    number: int
    scale: float = 1.0
    offset: float = 0.0


LATITUDE, LONGITUDE = Spec(0, 1 / SEMICIRCLE), Spec(1, 1 / SEMICIRCLE)
ALTITUDE, ENHANCED_ALTITUDE = Spec(2, 5, 500), Spec(78, 5, 500)
HEART_RATE, DISTANCE, SPEED, ENHANCED_SPEED = Spec(3), Spec(5, 100), Spec(6, 1000), Spec(73, 1000)
PACKED_SPEED_DISTANCE, TEMPERATURE, ACCURACY, TIME_128 = Spec(8), Spec(13), Spec(31), Spec(48, 128)
PLACE_MS, PLACE_LATITUDE, PLACE_LONGITUDE = Spec(0, 1000), Spec(1, 1 / SEMICIRCLE), Spec(2, 1 / SEMICIRCLE)
PLACE_ALTITUDE, PLACE_SPEED = Spec(3, 5, 500), Spec(4, 1000)

SPORTS = {
    0: "generic",
    1: "running",
    2: "cycling",
    3: "transition",
    4: "fitness_equipment",
    5: "swimming",
    10: "training",
    11: "walking",
    12: "cross_country_skiing",
    13: "alpine_skiing",
    14: "snowboarding",
    15: "rowing",
    16: "mountaineering",
    17: "hiking",
    18: "multisport",
    22: "motorcycling",
    23: "boating",
    24: "driving",
    27: "horseback_riding",
    28: "hunting",
    30: "inline_skating",
    35: "snowshoeing",
}
"""What a session calls its sport; a number that is not here stays a number."""
