"""What is written into columns of numbers and of instants."""

from collections.abc import Sequence
from datetime import UTC, datetime

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.recording import Message

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
Written = Sequence[str | None]


def numbers(written: Written) -> NDArray[np.float64]:
    """Return (n,) numbers, NaN where nothing, or nothing finite, is written; a decimal comma is understood."""
    try:
        told = np.array([float(text) if text else np.nan for text in written], dtype=np.float64)
    except ValueError:
        told = np.array([_number(text) for text in written], dtype=np.float64)
    told[~np.isfinite(told)] = np.nan
    return told


def _number(text: str | None) -> float:
    try:
        return float((text or "nan").replace(",", "."))
    except ValueError:
        return np.nan


def instants(written: Written) -> tuple[NDArray[np.float64], tuple[Message, ...]]:
    """Return (n,) seconds since 1970-01-01 UTC of times as ISO 8601 writes them, and what is odd about them.

    A time without a zone is taken as UTC, which GPX and TCX prescribe; what is no time is NaN. Both are counted.
    """
    told = np.full(len(written), np.nan)
    zoneless = unreadable = 0
    for i, text in enumerate(written):
        if not text:
            continue
        try:
            moment = datetime.fromisoformat(text)
            if moment.tzinfo is None:
                zoneless += 1
                moment = moment.replace(tzinfo=UTC)
            told[i] = (moment - EPOCH).total_seconds()
        except (ValueError, OverflowError):
            unreadable += 1
    return told, (*_counted("zoneless", zoneless), *_counted("unreadable_times", unreadable))


def _counted(code: str, count: int) -> tuple[Message, ...]:
    return (Message(code, {"count": count}),) if count else ()


FROM_YEAR, TO_YEAR = datetime(1990, 1, 1, tzinfo=UTC).timestamp(), datetime(2100, 1, 1, tzinfo=UTC).timestamp()


def settle(
    columns: dict[str, NDArray[np.float64]], *, dated: bool = True
) -> tuple[dict[str, NDArray[np.float64]], tuple[Message, ...]]:
    """Blank what stands for nothing, and say how many; times and everything else stay as written.

    Args:
        columns: (n,) columns by the names of a recording's, `time_s` among them.
        dated: whether the times are of a known day, so that an odd year says something.

    Returns:
        The columns, and messages of: positions at exactly 0,0 or off the earth, halves of a position, hearts of 0 and
        255, years out of reason, fixes without a time.
    """
    done = dict(columns)
    told: list[Message] = []
    if {"latitude", "longitude"} <= done.keys():
        north, east, said = _positions(done["latitude"], done["longitude"])
        done |= {"latitude": north, "longitude": east}
        told += said
    if "heart_bpm" in done:
        nothing = (done["heart_bpm"] == 0) | (done["heart_bpm"] == 255)
        done["heart_bpm"] = np.where(nothing, np.nan, done["heart_bpm"])
        told += _counted("no_heart", int(nothing.sum()))
    time = done["time_s"]
    told += _counted("odd_year", int(((time < FROM_YEAR) | (time >= TO_YEAR)).sum()) if dated else 0)
    told += _counted("no_time", int(np.isnan(time).sum()))
    return done, tuple(told)


def _positions(
    north: NDArray[np.float64], east: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64], list[Message]]:
    nowhere = (north == 0) & (east == 0)
    off = (np.abs(north) > 90) | (np.abs(east) > 180)
    half = np.isnan(north) ^ np.isnan(east)
    gone = nowhere | off | half
    told = [
        *_counted("no_fix", int(nowhere.sum())),
        *_counted("off_the_earth", int(off.sum())),
        *_counted("half_position", int((half & ~off).sum())),
    ]
    return np.where(gone, np.nan, north), np.where(gone, np.nan, east), told
