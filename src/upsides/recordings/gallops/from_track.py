"""A new gallop's line out of the work that was done on it: from one track, better from several."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from upsides.errors import GallopLineError
from upsides.errors.wording import gettext as _
from upsides.recordings.bouts.bout import Bout
from upsides.recordings.gallops.matching import OFF_M
from upsides.recordings.gallops.shape import SHORTEST_M, Gallop, gallop_line
from upsides.recordings.plane import from_plane, to_plane
from upsides.recordings.track import Plane, Track

Floats = NDArray[np.float64]

POINT_M = 10.0
"""Points of a line stand so far apart."""

EVEN_M = 60.0
"""The line is evened out over so many metres; bends of a gallop are wider."""

RETURN_M, RETURN_AFTER_M = 40.0, 500.0
"""A track that comes back to within the first of its start, after the second, has gone round: a circuit."""


def gallop_from(name: str, works: Sequence[tuple[Track, Bout]], *, width_m: float = 20.0) -> Gallop:
    """Draw a gallop's line through pieces of work on it.

    The longest piece gives the way; the others, whichever way round they went, are laid on it, and the line goes
    through the medians of where all of them were. It begins and ends at the medians of where they began and ended,
    each piece taken the way of the longest, and leads the way most of them went. Pieces that leave the way of the
    longest are left out of account there.

    Args:
        name: what the gallop is called.
        works: tracks with the piece of canter or fast work in each (`pieces_of`).
        width_m: how wide it is.

    Raises:
        GallopLineError: no piece with positions, or one too short for a gallop.
    """
    placed = [(track, line) for track, piece in works if (line := _walked(track, piece)) is not None]
    if not placed:
        raise GallopLineError(name, _("none of the work has positions"))
    longest = max(placed, key=lambda each: _length(each[1]))
    plane = longest[0].plane
    if plane is None or _length(longest[1]) < SHORTEST_M:
        raise GallopLineError(
            name, _("the longest work on it is shorter than {shortest_m:.0f} m", shortest_m=SHORTEST_M)
        )
    lines = [longest[1], *(_on(plane, *each) for each in placed if each is not longest)]
    drawn = lines[0]
    for _round in range(2):
        drawn = _through(drawn, lines)
    around = _one_round(drawn)
    east, north, height = _ends(drawn, lines) if around is None else around
    return gallop_line(name, plane, east, north, height_m=height, width_m=width_m, closed=around is not None)


def _walked(track: Track, piece: Bout) -> Floats | None:
    """Return (3, n) east, north and height of a piece at every `POINT_M` of its way; None without positions."""
    inside = (track.time_s >= piece.start_s) & (track.time_s <= piece.end_s)
    inside &= np.isfinite(track.east_m) & np.isfinite(track.north_m)
    if track.plane is None or np.count_nonzero(inside) < 3:
        return None
    return _every(np.stack([track.east_m[inside], track.north_m[inside], track.height_m[inside]]))


def _every(line: Floats) -> Floats:
    """Return a line (3, n) by points that stand `POINT_M` apart."""
    steps = np.hypot(np.diff(line[0]), np.diff(line[1]))
    along = np.concatenate([[0.0], np.cumsum(steps)])
    kept = np.concatenate([[True], steps > 0.0])
    count = max(2, round(along[-1] / POINT_M) + 1)
    places = np.linspace(0.0, along[-1], count)
    return np.stack([np.interp(places, along[kept], values[kept]) for values in line])


def _length(line: Floats) -> float:
    return float(np.hypot(np.diff(line[0]), np.diff(line[1])).sum())


def _on(plane: Plane, track: Track, line: Floats) -> Floats:
    """Return a line of a track on another track's plane."""
    if track.plane is None or track.plane == plane:
        return line
    east, north = to_plane(plane, *from_plane(track.plane, line[0], line[1]))
    return np.stack([east, north, line[2]])


def _through(drawn: Floats, lines: list[Floats]) -> Floats:
    """Move a line to the medians of where the others cross the squares to it, and even it out."""
    e_way, n_way = _ways(drawn)
    aside, heights = [], []
    for line in lines:
        off, height = _crossing(drawn, (e_way, n_way), line)
        aside.append(off)
        heights.append(height)
    shift = _middle(np.array(aside))
    east, north = drawn[0] + np.nan_to_num(shift) * n_way, drawn[1] - np.nan_to_num(shift) * e_way
    return _every(np.stack([_evened(east), _evened(north), _middle(np.array(heights))]))


def _middle(values: Floats) -> Floats:
    """Return the medians of columns (k, n); NaN where a column has no number at all."""
    known = np.isfinite(values).any(axis=0)
    out = np.full(values.shape[1], np.nan)
    out[known] = np.nanmedian(values[:, known], axis=0)
    return out


def _ways(line: Floats) -> tuple[Floats, Floats]:
    """Return unit vectors along a line at its points."""
    e_way, n_way = np.gradient(line[0]), np.gradient(line[1])
    size = np.hypot(e_way, n_way)
    return e_way / size, n_way / size


def _crossing(drawn: Floats, ways: tuple[Floats, Floats], line: Floats) -> tuple[Floats, Floats]:
    """Return how far to the right of each point of a line another passes, and how high; NaN where it does not."""
    fine = _finer(line)
    off_east = fine[0][None, :] - drawn[0][:, None]
    off_north = fine[1][None, :] - drawn[1][:, None]
    nearest = np.argmin(off_east**2 + off_north**2, axis=1)
    rows = np.arange(drawn.shape[1])
    e, n = off_east[rows, nearest], off_north[rows, nearest]
    ahead, aside = e * ways[0] + n * ways[1], e * ways[1] - n * ways[0]
    passes = (np.abs(ahead) < POINT_M) & (np.abs(aside) < OFF_M)
    return np.where(passes, aside, np.nan), np.where(passes, fine[2][nearest], np.nan)


def _finer(line: Floats) -> Floats:
    """Return a line with five points for each."""
    places = np.linspace(0.0, line.shape[1] - 1.0, 5 * (line.shape[1] - 1) + 1)
    return np.stack([np.interp(places, np.arange(line.shape[1]), values) for values in line])


def _evened(values: Floats) -> Floats:
    """Return values (n,) evened out over `EVEN_M` by local parabolas, which keep bends and ends."""
    from scipy.signal import savgol_filter

    window = min(round(EVEN_M / POINT_M) | 1, (values.size - 1) | 1 if values.size % 2 else values.size - 1)
    if window < 5:
        return values
    return np.asarray(savgol_filter(values, window, 2), dtype=np.float64)


def _ends(drawn: Floats, lines: list[Floats]) -> Floats:
    """Cut a line to the medians of where the pieces began and ended on it, and turn it the way most of them went."""
    begins, ends, against = [], [], 0
    for line in lines:
        places = [int(np.argmin((drawn[0] - e) ** 2 + (drawn[1] - n) ** 2)) for e, n in (line[:2, 0], line[:2, -1])]
        begins.append(min(places))
        ends.append(max(places))
        against += places[0] > places[1]
    cut = drawn[:, int(np.median(begins)) : int(np.median(ends)) + 1]
    return cut[:, ::-1] if 2 * against > len(lines) else cut


def _one_round(line: Floats) -> Floats | None:
    """Return the first round of a line, from its start to its start; None where it does not come back to it."""
    far = np.hypot(line[0] - line[0][0], line[1] - line[1][0])
    back = np.flatnonzero((far < RETURN_M) & (np.arange(far.size) * POINT_M > RETURN_AFTER_M))
    if not back.size:
        return None
    first = back[back - back[0] == np.arange(back.size)]
    last = int(first[np.argmin(far[first])])
    return np.concatenate([line[:, : last + int(far[last] >= 0.5 * POINT_M)], line[:, :1]], axis=1)
