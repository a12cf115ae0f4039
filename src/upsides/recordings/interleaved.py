"""Two devices in one file: positions that jump to and fro between two tracks that each run smoothly."""

from dataclasses import replace
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from upsides.recordings.close_by import close_by
from upsides.recordings.picking import columns_of, picked
from upsides.recordings.plane import plane_at, to_plane
from upsides.recordings.recording import Message, Recording

Floats = NDArray[np.float64]
Rows = NDArray[np.int64]

REACH_MS, SLACK_M = 25.0, 50.0
"""No horse comes further than this in a second, and that much for what receivers err. Our own limits, see positions."""
METRES_A_DEGREE = 111195.0
"""Of a sphere of 6371 km."""
TWO_PLACES: Final = "two_places"
SUSPECT, LEAST_SHARE, LEAST_FIXES = 0.05, 0.1, 10
"""Look closer when so large a share of steps is out of reach; a device has at least so many of the fixes."""


@njit("i8(f8[::1], f8[::1], f8[::1], f8, f8, i1[::1])", cache=True, nogil=True)
def _follow(time: Floats, east: Floats, north: Floats, reach: float, slack: float, which: NDArray[np.int8]) -> int:
    """Give each fix to the track whose end is nearer; return how many of them even that track could not reach."""
    one, two, lost = 0, -1, 0
    for k in range(1, time.size):
        end, track = one, 0
        near = np.hypot(east[k] - east[one], north[k] - north[one])
        if two >= 0:
            other = np.hypot(east[k] - east[two], north[k] - north[two])
            if other < near:
                near, end, track = other, two, 1
        if near > reach * abs(time[k] - time[end]) + slack:
            if two < 0:
                track = 1
            else:
                lost += 1
        which[k] = track
        if track == 0:
            one = k
        else:
            two = k
    return lost


def apart(recording: Recording) -> tuple[Recording, ...]:
    """Return the recording, or the two that it holds when two devices were written into one file.

    Fixes without a position go to the device whose fix stands before them. Heart rates are therefore to be trusted less
    where both devices wrote them, which the message says. Where two devices are so near each other that it cannot be
    told which fix is whose, the recording stays one, with the message "two_places", and makes no places and no speed.
    """
    if any(one.code == TWO_PLACES for one in recording.messages):
        return (recording,)
    known = np.flatnonzero(
        np.isfinite(recording.time_s) & np.isfinite(recording.latitude) & np.isfinite(recording.longitude)
    )
    known = known[(recording.latitude[known] != 0) | (recording.longitude[known] != 0)]
    if known.size < 2 * LEAST_FIXES:
        return (recording,)
    time, latitude, longitude = recording.time_s[known], recording.latitude[known], recording.longitude[known]
    which = _far(time, latitude, longitude)
    if which is None:
        turns = close_by(time, *_flat(latitude, longitude))
        if turns is None:
            return (recording,)
        if turns.which is None:
            return (replace(recording, messages=(*recording.messages, Message(TWO_PLACES))),)
        which = turns.which
    owner = np.concatenate([[which[0]], which])[np.searchsorted(known, np.arange(len(recording)), side="right")]
    return tuple(_part(recording, np.flatnonzero(owner == number), number) for number in (0, 1))


def _far(time: Floats, latitude: Floats, longitude: Floats) -> NDArray[np.int8] | None:
    """Return which device each fix is of where two are out of reach of each other; None where they are not."""
    reach = REACH_MS * np.abs(np.diff(time)) + SLACK_M
    jumps = int(np.count_nonzero(_roughly_apart(latitude, longitude) > reach))
    if jumps < SUSPECT * time.size:
        return None
    east, north = to_plane(plane_at(latitude, longitude), latitude, longitude)
    which = np.zeros(time.size, dtype=np.int8)
    lost = _follow(time, east, north, REACH_MS, SLACK_M, which)
    smaller = min(np.count_nonzero(which), np.count_nonzero(which == 0))
    return None if smaller < max(LEAST_SHARE * time.size, LEAST_FIXES) or lost > jumps / 10 else which


def _flat(latitude: Floats, longitude: Floats) -> tuple[Floats, Floats]:
    """Return metres east and north of the first place, good enough to hold neighbours against each other."""
    across = (longitude - longitude[0] + 180) % 360 - 180
    return across * METRES_A_DEGREE * np.cos(np.radians(latitude[0])), (latitude - latitude[0]) * METRES_A_DEGREE


def _roughly_apart(latitude: Floats, longitude: Floats) -> Floats:
    """Return how far each place is from the one before, m, as on a sphere and good enough to tell a leap."""
    up = np.diff(latitude) * METRES_A_DEGREE
    across = (np.diff(longitude) + 180) % 360 - 180
    return np.hypot(up, across * METRES_A_DEGREE * np.cos(np.radians(latitude[1:])))


def _part(recording: Recording, rows: Rows, number: int) -> Recording:
    """Return those rows of a recording as one of their own."""
    said = Message("two_devices", {"count": rows.size, "track": number + 1})
    return picked(recording, rows, columns_of(recording), said)
