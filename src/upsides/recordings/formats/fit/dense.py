"""Positions that a device wrote more often than its records: messages of where it was, several a second."""

import numpy as np

from upsides.recordings.formats.fit import profile
from upsides.recordings.formats.fit.columns import Columns
from upsides.recordings.formats.fit.messages import Messages
from upsides.recordings.formats.fit.times import seconds
from upsides.recordings.formats.fit.walking import Walk

OF_RECORDS = ("accuracy_m", "distance_m", "heart_bpm", "air_c")
NEAR_S = 1.0


def place_columns(walk: Walk, places: Messages) -> Columns:
    """Return (n,) columns of messages of where the device was."""
    return {
        "time_s": seconds(walk, places) + np.nan_to_num(places.column(profile.PLACE_MS)),
        "latitude": places.column(profile.PLACE_LATITUDE),
        "longitude": places.column(profile.PLACE_LONGITUDE),
        "height_m": places.column(profile.PLACE_ALTITUDE),
        "speed_ms": places.column(profile.PLACE_SPEED),
    }


def with_places(records: Columns, places: Columns) -> Columns | None:
    """Return columns of the places, what only records say at the place nearest in time; None where records do as well.

    Places take the records' part where more of them have a position and a time. A record without a place within a
    second keeps nothing.
    """
    if _placed(places) <= _placed(records):
        return None
    when = places["time_s"]
    timed = np.flatnonzero(np.isfinite(when))
    order = timed[np.argsort(when[timed], kind="stable")]
    halfway = (when[order][1:] + when[order][:-1]) / 2
    near = order[np.searchsorted(halfway, records["time_s"])]
    close = np.abs(records["time_s"] - when[near]) <= NEAR_S
    told = dict(places)
    for name in OF_RECORDS:
        told[name] = np.full(when.size, np.nan)
        told[name][near[close]] = records[name][close]
    return told


def _placed(columns: Columns) -> int:
    known = np.isfinite(columns["latitude"]) & np.isfinite(columns["longitude"]) & np.isfinite(columns["time_s"])
    return int(np.count_nonzero(known))
