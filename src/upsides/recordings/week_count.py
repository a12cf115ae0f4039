"""Receivers whose count of weeks ran over: dates that are 1,024 weeks, or twice as many, too early.

The satellites count weeks in ten bits, from 6 January 1980; an old receiver that does not know how often the count
began anew writes dates that are 1,024 weeks early (IS-GPS-200). Nothing in the times tells, but two things outside of
them: the day in the file's own name, and that a file which comes in is of a morning of late. By either they are put
right, and it is said.
"""

import re
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Final

import numpy as np

from upsides.recordings.picking import columns_of, picked
from upsides.recordings.recording import Message, Recording

ROUND: Final = timedelta(weeks=1024)
ROUNDS: Final = (1, 2)
EPOCH: Final = datetime(1970, 1, 1, tzinfo=UTC)
DATE: Final = re.compile(r"(?<!\d)(20\d\d)[-_. ]?(0[1-9]|1[0-2])[-_. ]?(0[1-9]|[12]\d|3[01])(?!\d{3,5}(?:\D|$))")
"""A day in a name as 2026-11-28, 2026_11_28 or 20261128, a time of day behind it or not."""
NEAR_DAYS: Final = 1
"""A name is by local time, and a file may be written the day after. Our own limit."""
LATELY_DAYS: Final = 30
"""A file comes in no more than so many days after the morning. Our own limit."""


def put_right(recording: Recording, came: datetime | None = None) -> Recording:
    """Return the recording, its times 1,024 weeks later where the day in its name, or when it came in, says so.

    Args:
        recording: as read.
        came: when the file came in; None where that says nothing, as of files that are only looked at.
    """
    first = _first(recording)
    if first is None or _names(recording.file, first):
        return recording
    for number in ROUNDS:
        later = first + number * ROUND
        if _names(recording.file, later):
            return _moved(recording, number, first, "weeks_put_right")
        if came is not None and timedelta(days=-1) <= came - later <= timedelta(days=LATELY_DAYS):
            return _moved(recording, number, first, "weeks_put_right_lately")
    return recording


def _names(file: str, when: datetime) -> bool:
    """Return whether the name of a file has the day of a moment, or the one beside it."""
    return any(abs((when.date() - day).days) <= NEAR_DAYS for day in _days_in(file))


def _moved(recording: Recording, number: int, first: datetime, code: str) -> Recording:
    told = {"weeks": f"{1024 * number:,}", "was": f"{first:%Y-%m-%d}", "day": f"{first + number * ROUND:%Y-%m-%d}"}
    seconds = (number * ROUND).total_seconds()
    columns = columns_of(recording) | {"time_s": recording.time_s + seconds}
    before = tuple(one for one in recording.messages if one.code != "odd_year")  # of the dates that are mended here
    kept = replace(recording, messages=before)
    moved = picked(kept, np.arange(len(recording)), columns, Message(code, told))
    motion, speeds = recording.motion, recording.speeds
    return replace(
        moved,
        motion=None if motion is None else replace(motion, time_s=motion.time_s + seconds),
        speeds=None if speeds is None else replace(speeds, time_s=speeds.time_s + seconds),
    )


def _first(recording: Recording) -> datetime | None:
    known = recording.time_s[np.isfinite(recording.time_s)]
    if not known.size:
        return None
    try:
        return EPOCH + timedelta(seconds=float(np.median(known)))
    except OverflowError:
        return None


def _days_in(name: str) -> list[date]:
    found = []
    for year, month, day in DATE.findall(name):
        try:
            found.append(date(int(year), int(month), int(day)))
        except ValueError:
            continue
    return found
