"""The fields that a table of a recording may have, and the units that each may be written in."""

from upsides.recordings.formats.accuracy import METRES_PER_HDOP
from upsides.trade.units import FURLONG_M, MILE_M, YARD_M

FOOT_M = YARD_M / 3
GRAVITY = 9.80665  # m/s2, the standard acceleration of free fall
KNOT_MS = 1852 / 3600  # exact by definition
ANGLES = {
    "degrees": 1.0,
    "degrees_minutes": 0.0,  # dddmm.mmmm, or degrees and minutes apart: no factor, see `angles`
    "semicircles": 180 / 2**31,
    "1e-7 degrees": 1e-7,
}
LENGTHS = {"m": 1.0, "ft": FOOT_M, "km": 1000.0}
UNITS: dict[str, dict[str, float]] = {
    "latitude": ANGLES,
    "longitude": ANGLES,
    "height_m": LENGTHS,
    "speed_ms": {"m/s": 1.0, "km/h": 1 / 3.6, "knots": KNOT_MS, "mph": MILE_M / 3600, "cm/s": 0.01, "mm/s": 0.001},
    "accuracy_m": {"m": 1.0, "ft": FOOT_M, "mm": 0.001, "hdop": METRES_PER_HDOP},
    "distance_m": {**LENGTHS, "miles": MILE_M, "furlongs": FURLONG_M, "yd": YARD_M},
    "heart_bpm": {"bpm": 1.0, "per second": 60.0},
    "air_c": {"C": 1.0},
    "acceleration_x": {"g": 1.0, "m/s2": 1 / GRAVITY, "mg": 0.001},
    "acceleration_y": {"g": 1.0, "m/s2": 1 / GRAVITY, "mg": 0.001},
    "acceleration_z": {"g": 1.0, "m/s2": 1 / GRAVITY, "mg": 0.001},
    "device": {"text": 1.0},
    "sport": {"text": 1.0},
    "lap": {"text": 1.0},
}
"""The units of each field, with what one of them is in the field's own; the first is meant where a shape names none."""

AXES = ("acceleration_x", "acceleration_y", "acceleration_z")
WORDS = ("device", "sport", "lap")
TIMES = ("iso", "text", "epoch s", "epoch ms", "elapsed s", "elapsed ms", "elapsed h:m:s")
"""How the time may be written; "text" needs formats, "elapsed" counts from a start."""
