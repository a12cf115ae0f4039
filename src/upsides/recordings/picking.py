"""Some of a recording's fixes as a recording of their own."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.recording import Message, Recording

Floats = NDArray[np.float64]


def columns_of(recording: Recording) -> dict[str, Floats]:
    """Return the columns of a recording that hold one number a fix, by name, the segment aside."""
    return {
        "time_s": recording.time_s,
        "latitude": recording.latitude,
        "longitude": recording.longitude,
        "height_m": recording.height_m,
        "speed_ms": recording.speed_ms,
        "accuracy_m": recording.accuracy_m,
        "distance_m": recording.distance_m,
        "heart_bpm": recording.heart_bpm,
        "air_c": recording.air_c,
    }


def picked(recording: Recording, rows: NDArray[np.int64], columns: dict[str, Floats], said: Message) -> Recording:
    """Return the fixes `rows` of `columns` (as `columns_of` gives them, mended or not), with one more message."""
    return replace(
        recording,
        time_s=columns["time_s"][rows],
        latitude=columns["latitude"][rows],
        longitude=columns["longitude"][rows],
        height_m=columns["height_m"][rows],
        speed_ms=columns["speed_ms"][rows],
        accuracy_m=columns["accuracy_m"][rows],
        distance_m=columns["distance_m"][rows],
        heart_bpm=columns["heart_bpm"][rows],
        air_c=columns["air_c"][rows],
        segment=recording.segment[rows],
        messages=(*recording.messages, said),
    )
