"""Tracks of several devices at the same moments, on one plane."""

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.plane import from_plane, to_plane
from upsides.recordings.track import Plane, Track

Floats = NDArray[np.float64]


def values_at(track: Track, values: Floats, moments: Floats) -> Floats:
    """Return values of a track (m,) at moments (n,), in straight lines between its own; NaN outside and in gaps."""
    after = np.clip(np.searchsorted(track.time_s, moments), 1, max(len(track) - 1, 1))
    if len(track) < 2:
        return np.full(moments.size, np.nan)
    out = np.interp(moments, track.time_s, values, left=np.nan, right=np.nan)
    return np.where(track.stretch[after] == track.stretch[after - 1], out, np.nan)


def steps_of(track: Track, step_s: float, beyond: int = 0) -> NDArray[np.int64]:
    """Return the moments, as whole steps since 1970 (n,), in a track's stretches; none in its gaps, however long.

    Args:
        track: the track.
        step_s: how long a step is, s.
        beyond: so many steps more before and after each stretch.
    """
    begins = np.flatnonzero(np.diff(track.stretch, prepend=track.stretch[:1] - 1))
    ends = np.append(begins[1:], len(track)) - 1
    first = np.ceil(track.time_s[begins] / step_s).astype(np.int64) - beyond
    last = np.floor(track.time_s[ends] / step_s).astype(np.int64) + beyond
    counts = np.maximum(last - first + 1, 0)
    from_first = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
    return np.unique(np.repeat(first, counts) + from_first)


def places_at(track: Track, plane: Plane, moments: Floats) -> tuple[Floats, Floats]:
    """Return metres east and north (n,) on a plane at moments; NaN where not known."""
    east, north = values_at(track, track.east_m, moments), values_at(track, track.north_m, moments)
    if track.plane is None or track.plane == plane:
        return east, north
    return to_plane(plane, *from_plane(track.plane, east, north))


def ways_of(east: Floats, north: Floats) -> tuple[Floats, Floats]:
    """Return the unit vectors (east, north) in which places (n,) that follow each other go; NaN where they stand."""
    e, n = np.gradient(east), np.gradient(north)
    size = np.hypot(e, n)
    size = np.where(size > 1e-6, size, np.nan)
    return e / size, n / size
