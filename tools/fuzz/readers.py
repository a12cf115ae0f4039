"""The readers that are fuzzed, and what a reader may do with any bytes."""

from collections.abc import Callable
from importlib import import_module

READERS = {
    "fit": "upsides.recordings.formats.fit:read_fit",
    "gpx": "upsides.recordings.formats.gpx:read_gpx",
    "tcx": "upsides.recordings.formats.tcx:read_tcx",
    "nmea": "upsides.recordings.formats.nmea:read_nmea",
    "csv": "upsides.recordings.formats.csv:read_csv",
    "opening": "upsides.recordings.opening:read_bytes",
}
COLUMNS = (
    "time_s",
    "latitude",
    "longitude",
    "height_m",
    "speed_ms",
    "accuracy_m",
    "distance_m",
    "heart_bpm",
    "segment",
)


class WrongAnswerError(AssertionError):
    """What a reader returned is no recording."""


def reader(name: str) -> Callable[[bytes, str], object]:
    """Return a reader by its name.

    Raises:
        ImportError, AttributeError: it does not exist.
    """
    module, function = READERS[name].split(":")
    found: Callable[[bytes, str], object] = getattr(import_module(module), function)
    return found


def try_reader(read: Callable[[bytes, str], object], data: bytes) -> None:
    """Read bytes: a refusal in words and recordings that hold together are right; anything else is raised.

    Raises:
        WrongAnswerError: recordings whose columns differ in length, or hold infinities.
        Exception: whatever the reader raises that is no refusal.
    """
    from upsides.errors import UpsidesError

    try:
        told = read(data, "fuzzed")
    except UpsidesError:
        return
    if not isinstance(told, list):
        raise WrongAnswerError(f"no list of recordings, but {type(told)}")
    for recording in told:
        check_recording(recording)


def check_recording(recording: object) -> None:
    """Hold a recording to what it says of itself.

    Raises:
        WrongAnswerError: columns that differ in length, or hold infinities; acceleration that is not three a time.
    """
    import numpy as np

    columns = {name: getattr(recording, name) for name in COLUMNS}
    sizes = {name: column.shape for name, column in columns.items()}
    if len(set(sizes.values())) != 1:
        raise WrongAnswerError(f"columns of several lengths: {sizes}")
    if infinite := [name for name, column in columns.items() if np.isinf(column).any()]:
        raise WrongAnswerError(f"infinities in {infinite}")
    motion = getattr(recording, "motion", None)
    if motion is not None and motion.g.shape != (motion.time_s.size, 3):
        raise WrongAnswerError(f"acceleration of shape {motion.g.shape} for {motion.time_s.size} times")
    speeds = getattr(recording, "speeds", None)
    if speeds is not None and (speeds.ms.shape != speeds.time_s.shape or not np.isfinite(speeds.ms).all()):
        raise WrongAnswerError(f"speeds of shape {speeds.ms.shape} for {speeds.time_s.shape} times")
