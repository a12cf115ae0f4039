"""Two devices in one file: positions that jump to and fro between two tracks that each run smoothly."""

import numpy as np
from numba import njit
from numpy.typing import NDArray

from upsides.recordings.picking import columns_of, picked
from upsides.recordings.plane import plane_at, to_plane
from upsides.recordings.recording import Message, Recording

Floats = NDArray[np.float64]
Rows = NDArray[np.int64]

REACH_MS, SLACK_M = 25.0, 50.0
"""No horse comes further than this in a second, and that much for what receivers err. Our own limits, see positions."""
METRES_A_DEGREE = 111195.0
"""Of a sphere of 6371 km."""
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
    where both devices wrote them, which the message says.
    """
    known = np.flatnonzero(
        np.isfinite(recording.time_s) & np.isfinite(recording.latitude) & np.isfinite(recording.longitude)
    )
    known = known[(recording.latitude[known] != 0) | (recording.longitude[known] != 0)]
    if known.size < 2 * LEAST_FIXES:
        return (recording,)
    latitude, longitude = recording.latitude[known], recording.longitude[known]
    time = recording.time_s[known]
    reach = REACH_MS * np.abs(np.diff(time)) + SLACK_M
    jumps = int(np.count_nonzero(_roughly_apart(latitude, longitude) > reach))
    if jumps < SUSPECT * known.size:
        return (recording,)
    east, north = to_plane(plane_at(latitude, longitude), latitude, longitude)
    which = np.zeros(known.size, dtype=np.int8)
    lost = _follow(time, east, north, REACH_MS, SLACK_M, which)
    smaller = min(np.count_nonzero(which), np.count_nonzero(which == 0))
    if smaller < max(LEAST_SHARE * known.size, LEAST_FIXES) or lost > jumps / 10:
        return (recording,)
    owner = np.concatenate([[which[0]], which])[np.searchsorted(known, np.arange(len(recording)), side="right")]
    return tuple(_part(recording, np.flatnonzero(owner == number), number) for number in (0, 1))


def _roughly_apart(latitude: Floats, longitude: Floats) -> Floats:
    """Return how far each place is from the one before, m, as on a sphere and good enough to tell a leap."""
    up = np.diff(latitude) * METRES_A_DEGREE
    across = (np.diff(longitude) + 180) % 360 - 180
    return np.hypot(up, across * METRES_A_DEGREE * np.cos(np.radians(latitude[1:])))


def _part(recording: Recording, rows: Rows, number: int) -> Recording:
    """Return those rows of a recording as one of their own."""
    said = Message("two_devices", {"count": rows.size, "track": number + 1})
    return picked(recording, rows, columns_of(recording), said)
