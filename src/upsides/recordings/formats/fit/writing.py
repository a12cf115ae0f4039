"""The writer of FIT: an activity, with parts of a second, heart, speed, height, accuracy and acceleration."""

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.formats.fit import profile
from upsides.recordings.formats.fit.crc import crc
from upsides.recordings.formats.fit.header import SIGNATURE
from upsides.recordings.formats.fit.layout import (
    ENUM,
    SINT8,
    SINT32,
    STRING,
    UINT8,
    UINT16,
    UINT32,
    UINT32Z,
    Column,
    defined,
    message,
    rows,
)
from upsides.recordings.formats.fit.writing_motion import within_records, written_motion
from upsides.recordings.recording import Device, Recording

HEADER_SIZE, PROTOCOL, PROFILE = 14, 0x20, 2100
DEVELOPER_ID, EVENT, ACTIVITY = 207, 21, 34
ACTIVITY_FILE, DEVELOPMENT, TIMER, STOPPED, OF_LAP, OF_SESSION, OF_ACTIVITY = 4, 255, 0, 1, 9, 8, 26
STARTED = 0
MILLISECONDS = 0
"""Number of our developer's field for them; those of `within_records` count on from it."""
Floats = NDArray[np.float64]


def write_fit(recording: Recording, *, in_records: bool = False) -> bytes:
    """Return a recording as a FIT activity file.

    Args:
        recording: what is written.
        in_records: write acceleration, and speed denser than fixes, as a device's own programs do: developers' fields
            of records. Else acceleration goes into messages of its own, and dense speed is left out.

    Times are kept to a millisecond (in a developer's field, and to 1/128 s in the field that the profile has for it),
    positions to a centimetre, heights to 0.2 m, speeds to 1 mm/s, distances to 1 cm, accuracy to a metre (never 0),
    acceleration to 1/1000 g. A number that its field cannot hold is written as none; so are a maker and a serial
    number that are no numbers of up to 16 and 32 bits.
    """
    time = recording.time_s - profile.EPOCH_S
    described, dense = within_records(recording) if in_records else (b"", [])
    body = b"".join(
        [
            _about(recording.device, time),
            described,
            _event(_ends(time)[0], STARTED),
            *_records(recording, time, dense),
            b"" if in_records else written_motion(recording.motion),
            _event(_ends(time)[1], STOPPED),
            _laps(recording, time),
            _session(recording, time),
        ]
    )
    header = (
        bytes([HEADER_SIZE, PROTOCOL]) + PROFILE.to_bytes(2, "little") + len(body).to_bytes(4, "little") + SIGNATURE
    )
    header += crc(header).to_bytes(2, "little")
    return header + body + crc(header + body).to_bytes(2, "little")


def _one(value: float) -> Floats:
    return np.array([value], dtype=np.float64)


def _ends(time: Floats) -> tuple[float, float]:
    """Return the first and the last time of fixes, NaN where none has one."""
    known = time[np.isfinite(time)]
    return (float(known.min()), float(known.max())) if known.size else (np.nan, np.nan)


def _about(device: Device, time: Floats) -> bytes:
    start = np.floor(_ends(time)[0])
    maker = float(device.maker) if _fits(device.maker, 16) else DEVELOPMENT
    serial = float(device.serial) if _fits(device.serial, 32) else np.nan
    number = _fits(device.product, 16)
    product = float(device.product) if number else np.nan
    name = "" if number else device.product[:40]
    of_file = [
        Column(0, ENUM, _one(ACTIVITY_FILE)),
        Column(1, UINT16, _one(maker)),
        Column(2, UINT16, _one(product)),
        Column(3, UINT32Z, _one(serial)),
        Column(4, UINT32, _one(start)),
    ]
    of_device = [
        Column(profile.TIMESTAMP, UINT32, _one(start)),
        Column(0, UINT8, _one(0)),
        Column(2, UINT16, _one(maker)),
        Column(3, UINT32Z, _one(serial)),
        Column(4, UINT16, _one(product)),
    ]
    if name:
        of_file.append(Column(8, STRING, name))
        of_device.append(Column(27, STRING, name))
    return message(0, profile.FILE_ID, of_file) + message(0, profile.DEVICE_INFO, of_device) + _milliseconds()


def _fits(text: str, bits: int) -> bool:
    return text.isascii() and text.isdigit() and len(text) <= 10 and 0 < int(text) < (1 << bits) - 1


def _milliseconds() -> bytes:
    """Return what describes our developer's field: milliseconds of a record's time beyond its whole second."""
    developer = [Column(3, UINT8, _one(0))]
    described = [
        Column(0, UINT8, _one(0)),
        Column(1, UINT8, _one(MILLISECONDS)),
        Column(2, UINT8, _one(0x84)),
        Column(3, STRING, "timestamp_ms"),
        Column(8, STRING, "ms"),
    ]
    return message(0, DEVELOPER_ID, developer) + message(0, profile.FIELD_DESCRIPTION, described)


def _event(when: float, kind: int) -> bytes:
    columns = [
        Column(profile.TIMESTAMP, UINT32, _one(np.floor(when))),
        Column(0, ENUM, _one(TIMER)),
        Column(1, ENUM, _one(kind)),
    ]
    return message(0, EVENT, columns)


def _records(recording: Recording, time: Floats, dense: list[Column]) -> tuple[bytes, bytes]:
    milliseconds = np.rint(time * 1000)
    whole = np.floor(milliseconds / 1000)
    part = milliseconds - whole * 1000
    accuracy = np.maximum(np.rint(recording.accuracy_m), 1)
    given = [
        Column(profile.TIMESTAMP, UINT32, whole),
        *(
            _raw(spec, base, values)
            for spec, base, values in (
                (profile.LATITUDE, SINT32, recording.latitude),
                (profile.LONGITUDE, SINT32, recording.longitude),
                (profile.ENHANCED_ALTITUDE, UINT32, recording.height_m),
                (profile.ENHANCED_SPEED, UINT32, recording.speed_ms),
                (profile.DISTANCE, UINT32, recording.distance_m),
                (profile.HEART_RATE, UINT8, recording.heart_bpm),
                (profile.TEMPERATURE, SINT8, recording.air_c),
                (profile.ACCURACY, UINT8, accuracy),
            )
            if np.isfinite(values).any()
        ),
    ]
    if (part > 0).any():
        given.append(Column(profile.TIME_128.number, UINT8, np.minimum(np.rint(part * 0.128), 127)))
        given.append(Column(MILLISECONDS, UINT16, part, developer=True))
    given += dense
    return defined(0, profile.RECORD, given), rows(0, given, len(recording)).tobytes()


def _raw(spec: profile.Spec, base: int, values: Floats) -> Column:
    return Column(spec.number, base, (values + spec.offset) * spec.scale)


def _laps(recording: Recording, time: Floats) -> bytes:
    known = np.isfinite(time)
    numbers, inverse = np.unique(recording.segment[known], return_inverse=True)
    start, end = np.full(numbers.size, np.inf), np.full(numbers.size, -np.inf)
    np.minimum.at(start, inverse, time[known])
    np.maximum.at(end, inverse, time[known])
    columns = [
        Column(254, UINT16, np.arange(numbers.size, dtype=np.float64)),
        Column(profile.TIMESTAMP, UINT32, np.floor(end)),
        Column(0, ENUM, np.full(numbers.size, float(OF_LAP))),
        Column(1, ENUM, np.full(numbers.size, float(STOPPED))),
        Column(2, UINT32, np.floor(start)),
        Column(7, UINT32, (end - start) * 1000),
        Column(8, UINT32, (end - start) * 1000),
    ]
    return defined(0, profile.LAP, columns) + rows(0, columns, numbers.size).tobytes()


def _session(recording: Recording, time: Floats) -> bytes:
    start, end = _ends(time)
    took = (end - start) * 1000
    gone = recording.distance_m[np.isfinite(recording.distance_m)]
    sport = next((number for number, name in profile.SPORTS.items() if name == recording.sport), np.nan)
    laps = np.unique(recording.segment[np.isfinite(time)]).size
    session = [
        Column(profile.TIMESTAMP, UINT32, _one(np.floor(end))),
        Column(0, ENUM, _one(OF_SESSION)),
        Column(1, ENUM, _one(STOPPED)),
        Column(2, UINT32, _one(np.floor(start))),
        Column(5, ENUM, _one(sport)),
        Column(7, UINT32, _one(took)),
        Column(8, UINT32, _one(took)),
        Column(9, UINT32, _one(gone.max() * 100 if gone.size else np.nan)),
        Column(25, UINT16, _one(0)),
        Column(26, UINT16, _one(laps)),
    ]
    activity = [
        Column(profile.TIMESTAMP, UINT32, _one(np.floor(end))),
        Column(0, UINT32, _one(took)),
        Column(1, UINT16, _one(1)),
        Column(2, ENUM, _one(0)),
        Column(3, ENUM, _one(OF_ACTIVITY)),
        Column(4, ENUM, _one(STOPPED)),
    ]
    return message(0, profile.SESSION, session) + message(0, ACTIVITY, activity)
