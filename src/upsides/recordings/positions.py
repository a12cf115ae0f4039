"""Positions that cannot be: none at all, 0,0, spikes, stuck ones, and those of a receiver that has not found itself.

Only what is out of reach by far is left out here; what is merely noisy goes to the filter, whose own gate refuses the
rest (smoother.py). Speeds that no horse reaches but a lorry does, held on for a while, are kept: they are no fault of
the receiver's, and are said.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.excursions import LEFT_OUT_S, excursions_of
from upsides.recordings.plane import plane_at, to_plane
from upsides.recordings.recording import Message
from upsides.recordings.track import Plane

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

HORSE_TOP_MS = 19.0
"""About the highest speed of a racehorse (18.5 to 19 m/s; Self Davies et al. 2019, medium confidence)."""
REACH_MS = 25.0
"""What no horse reaches: the top speed and a third more, for what receivers err. The margin is our own."""
SLACK_M = 30.0
"""How far a position may be off by ordinary error, on top of what can be covered. Our own limit."""
STUCK_S, STUCK_MS = 3.0, 1.5
"""The same position for so long, while the receiver says it goes this fast, is stuck. Our own limits."""
OUT_AND_BACK_S = 10.0
"""Where the track leaps out and back within so many seconds, what lies between is left out. Our own limit."""
LAG_S, LAG_FIXES = 60.0, 30
"""A leap within the first so many seconds and fixes: the receiver had not found itself before it. Our own limits."""


@dataclass(frozen=True, slots=True, eq=False)
class Places:
    """The positions of a recording on a plane.

    Attributes:
        plane: None where there is no position.
        east_m: (m,) NaN where there is none, or none that can be.
        north_m: (m,) the same.
        leaps: (m,) where the track goes on somewhere else, so that a new stretch begins.
        given: how many fixes have a position.
        messages: what was left out.
    """

    plane: Plane | None
    east_m: Floats
    north_m: Floats
    leaps: Flags
    given: int
    messages: tuple[Message, ...]


def places_of(time: Floats, latitude: Floats, longitude: Floats, speed: Floats) -> Places:
    """Return positions on a plane, those that cannot be left out.

    Args:
        time: (m,) seconds, rising.
        latitude: (m,) degrees, NaN where not known.
        longitude: (m,) the same.
        speed: (m,) the receiver's own, m/s, NaN where not known.
    """
    said: list[Message] = []
    given = np.isfinite(latitude) & np.isfinite(longitude)
    good = given & (np.abs(latitude) <= 90) & (np.abs(longitude) <= 180)
    _leave_out(said, given, good, "positions_impossible")
    nowhere = good & (np.abs(latitude) < 1e-6) & (np.abs(longitude) < 1e-6)
    _leave_out(said, good, good & ~nowhere, "positions_zero")
    kept = np.flatnonzero(good & ~nowhere)
    east, north = np.full(time.size, np.nan), np.full(time.size, np.nan)
    leaps = np.zeros(time.size, dtype=np.bool_)
    if not kept.size:
        return Places(None, east, north, leaps, int(given.sum()), tuple(said))
    plane = plane_at(latitude[kept], longitude[kept])
    x, y = to_plane(plane, latitude[kept], longitude[kept])
    for find in (_stuck, _spikes, _aside, _lag):
        left = find(time[kept], x, y, speed[kept], said)
        kept, x, y = kept[left], x[left], y[left]
    east[kept], north[kept] = x, y
    leaps[kept] = _leaps(time[kept], x, y, said)
    return Places(plane, east, north, leaps, int(given.sum()), tuple(said))


def _leave_out(said: list[Message], before: Flags, after: Flags, code: str) -> None:
    count = int(before.sum() - after.sum())
    if count:
        said.append(Message(code, {"count": count}))


def _stuck(time: Floats, x: Floats, y: Floats, speed: Floats, said: list[Message]) -> Flags:
    """Return which positions are not merely repeated while the horse goes on.

    The horse goes on where the receiver's own speed says so, or where the track afterwards leaps out of reach.
    """
    same = (np.diff(x) == 0) & (np.diff(y) == 0)
    left = np.ones(time.size, dtype=np.bool_)
    if not same.any():
        return left
    starts = np.flatnonzero(np.r_[True, ~same])
    ends = np.r_[starts[1:], time.size] - 1
    after = np.minimum(ends + 1, time.size - 1)
    leapt = np.hypot(x[after] - x[ends], y[after] - y[ends]) > REACH_MS * (time[after] - time[ends]) + SLACK_M
    told = np.isfinite(speed)
    speeds, counts = np.r_[0.0, np.cumsum(np.where(told, speed, 0.0))], np.r_[0, np.cumsum(told)]
    count = counts[ends + 1] - counts[starts]
    mean = (speeds[ends + 1] - speeds[starts]) / np.maximum(count, 1)
    stuck = (time[ends] - time[starts] >= STUCK_S) & np.where(count > 0, mean > STUCK_MS, leapt)
    left = ~np.repeat(stuck, ends - starts + 1)
    left[starts] = True
    _leave_out(said, np.ones_like(left), left, "positions_stuck")
    return left


def _spikes(time: Floats, x: Floats, y: Floats, _: Floats, said: list[Message]) -> Flags:
    """Return which positions are neither far from the middle of the five about them nor on a leap out and back."""
    left = np.ones(time.size, dtype=np.bool_)
    if time.size < 5:
        return left
    if not (np.hypot(np.diff(x), np.diff(y)) > REACH_MS * np.diff(time) + SLACK_M).any():
        return left
    about = np.empty(time.size)
    about[2:-2] = np.maximum(time[2:-2] - time[:-4], time[4:] - time[2:-2])
    about[:2], about[-2:] = time[4] - time[0], time[-1] - time[-5]
    off = np.hypot(x - _middle_of_five(x), y - _middle_of_five(y))
    left = np.asarray(off <= np.sqrt(2) * REACH_MS * about + SLACK_M) & ~_alone(time, x, y)
    places = np.flatnonzero(left)
    leaps = np.flatnonzero(_out_of_reach(time[places], x[places], y[places]))
    for out, back in pairwise(leaps):
        before, after = places[out], places[back + 1]
        took, apart = time[after] - time[before], np.hypot(x[after] - x[before], y[after] - y[before])
        if took <= OUT_AND_BACK_S and apart <= REACH_MS * took + SLACK_M and left[before]:
            left[places[out + 1 : back + 1]] = False
    _leave_out(said, np.ones_like(left), left, "positions_spiked")
    return left


def _aside(time: Floats, x: Floats, y: Floats, _: Floats, said: list[Message]) -> Flags:
    """Return which positions were not thrown aside together for some seconds, within a horse's reach."""
    left = np.ones(time.size, dtype=np.bool_)
    for one in excursions_of(time, x, y):
        if time[one.after] - time[one.before] <= LEFT_OUT_S:
            left[one.before + 1 : one.after] = False
    _leave_out(said, np.ones_like(left), left, "positions_aside")
    return left


def _alone(time: Floats, x: Floats, y: Floats) -> Flags:
    """Return which positions neither neighbour could reach, although they could reach each other."""
    far = np.hypot(np.diff(x), np.diff(y)) > REACH_MS * np.diff(time) + SLACK_M
    across = np.hypot(x[2:] - x[:-2], y[2:] - y[:-2]) <= REACH_MS * (time[2:] - time[:-2]) + SLACK_M
    return np.asarray(np.r_[False, far[:-1] & far[1:] & across, False])


def _middle_of_five(values: Floats) -> Floats:
    """Return the running median of five, the ends repeated."""
    padded = np.r_[values[:1], values[:1], values, values[-1:], values[-1:]]
    windows = np.lib.stride_tricks.sliding_window_view(padded, 5)
    return np.asarray(np.partition(windows, 2, axis=1)[:, 2])


def _out_of_reach(time: Floats, x: Floats, y: Floats) -> Flags:
    """Return (m - 1,) which steps are leaps: out of reach, and far faster than the steps on both sides."""
    step = np.diff(time)
    far = np.hypot(np.diff(x), np.diff(y))
    leap = far > REACH_MS * step + SLACK_M
    if not leap.any():
        return leap
    pace = np.r_[0.0, far / step, 0.0]
    return np.asarray(leap & (pace[1:-1] > 3 * pace[:-2]) & (pace[1:-1] > 3 * pace[2:]))


def _lag(time: Floats, x: Floats, y: Floats, _: Floats, said: list[Message]) -> Flags:
    """Return which positions come after the receiver found itself."""
    left = np.ones(time.size, dtype=np.bool_)
    soon = min(LAG_FIXES, time.size // 10)
    leap = np.flatnonzero(_out_of_reach(time[: soon + 2], x[: soon + 2], y[: soon + 2])[:soon])
    if leap.size and time[leap[-1]] - time[0] <= LAG_S:
        left[: leap[-1] + 1] = False
        _leave_out(said, np.ones_like(left), left, "start_lag")
    return left


def _leaps(time: Floats, x: Floats, y: Floats, said: list[Message]) -> Flags:
    """Return (m,) where the track goes on somewhere else."""
    found = np.r_[False, _out_of_reach(time, x, y)]
    for one in excursions_of(time, x, y):
        found[[one.before + 1, one.after]] = True
    if found.any():
        said.append(Message("track_leaps", {"count": int(found.sum())}))
    return np.asarray(found)
