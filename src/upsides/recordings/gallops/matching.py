"""Which gallop a piece of work was done on, which way round, and where on it the horse was at each moment.

A horse that is at place p of a line and goes d metres is at p + d or p - d: the track's running distance says where it
must be, so that only the place at which it began and the direction have to be found, and a circuit, a line that comes
near itself, and a piece that begins or ends in the middle are no special cases.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.bouts.along import along_of
from upsides.recordings.bouts.bout import Bout
from upsides.recordings.gallops.shape import Gallop
from upsides.recordings.track import Plane, Track

Floats = NDArray[np.float64]

SEARCH_M = 8.0
"""Beginnings are tried so far apart along a line."""

TRIED = 60
"""Moments of a piece that are tried against a line."""

ASIDE_M = 5.0
"""Standard deviation of a horse's distance from the middle of a line by the receiver's lasting error alone; common
practice, no source."""

OFF_M = 30.0
"""A horse so far from a line is not on it."""

MOST_OFF = 9.0
"""No place counts for more than this against a line, in squares of `ASIDE_M`: the horse has left it."""

LEAST_M, LEAST_SHARE = 200.0, 0.6
"""On a gallop is what was on its line for so many metres and for so much of the piece; engineering choice."""

INDEPENDENT = 3.0
"""How many independent looks a piece amounts to, since the receiver's error lasts; engineering choice."""

STEADY_S = 30.0
"""Over how long places are evened out; engineering choice."""

ELSEWHERE = 0.05
"""Chance beforehand that a piece was on none of the yard's gallops; engineering choice."""


@dataclass(frozen=True, slots=True, eq=False)
class Match:
    """A piece of work laid on a gallop.

    Attributes:
        gallop: which.
        forward: whether it went the way of the line.
        time_s: (n,) the track's moments on it, seconds since 1970.
        place_m: (n,) where along the line the horse was; beyond its ends it goes on, and on a circuit beyond a lap.
        aside_m: (n,) metres to the right of the line, in the line's own direction; NaN beyond its ends.
        share: share of the piece's metres that were on it.
        sure: how probable it is against the other gallops and none of them, 0 to 1.
    """

    gallop: Gallop
    forward: bool
    time_s: Floats
    place_m: Floats
    aside_m: Floats
    share: float
    sure: float

    def gone(self, begin_s: float, end_s: float) -> float:
        """Return how many metres it went on the line between moments; nothing beyond its ends, nor off a circuit."""
        ends = np.interp([begin_s, end_s], self.time_s, self.place_m)
        if not self.gallop.closed:
            return float(abs(np.diff(np.clip(ends, 0.0, self.gallop.length_m))[0]))
        during = (self.time_s > begin_s) & (self.time_s < end_s)
        place = np.concatenate([ends[:1], self.place_m[during], ends[1:]])
        on = np.abs(np.interp([begin_s, *self.time_s[during], end_s], self.time_s, self.aside_m)) < OFF_M
        return float(np.abs(np.diff(place))[on[1:] & on[:-1]].sum())


@dataclass(frozen=True, slots=True)
class _Try:
    gallop: Gallop
    line: Gallop
    forward: bool
    begin_m: float
    cost: float
    share: float
    metres: float


def recognise(track: Track, piece: Bout, gallops: tuple[Gallop, ...]) -> Match | None:
    """Return the gallop that a piece of work was done on, None for none of them.

    Args:
        track: the whole track.
        piece: canter and fast work that belong together (`pieces_of`).
        gallops: the yard's.
    """
    if track.plane is None or not gallops:
        return None
    along = along_of(track, piece)
    moments, east, north = _positions(track, piece)
    if moments.size < 3:
        return None
    gone = along.gone(moments) - along.along_m[0]
    few = np.unique(np.linspace(0, moments.size - 1, TRIED).round().astype(np.int64))
    lines = [(gallop, moved(gallop, track.plane)) for gallop in gallops]
    tries = [
        _best_begin(gallop, line, (east[few], north[few]), gone[few], forward=forward)
        for gallop, line in lines
        for forward in (True, False)
    ]
    good = [each for each in tries if each.metres >= LEAST_M and each.share >= LEAST_SHARE]
    if not good:
        return None
    likely = np.array([np.exp(-0.5 * INDEPENDENT * each.cost) for each in tries])
    nowhere = ELSEWHERE * np.exp(-0.5 * INDEPENDENT * 0.5 * MOST_OFF)
    best = min(good, key=lambda each: each.cost)
    sure = float(np.exp(-0.5 * INDEPENDENT * best.cost) / (likely.sum() + nowhere))
    place, aside = _places(best, (east, north), gone, moments)
    return Match(best.gallop, best.forward, moments, place, aside, best.share, sure)


def moved(gallop: Gallop, plane: Plane) -> Gallop:
    """Return a gallop with its line on another plane."""
    from dataclasses import replace

    from upsides.recordings.plane import from_plane, to_plane

    if plane == gallop.plane:
        return gallop
    east, north = to_plane(plane, *from_plane(gallop.plane, gallop.east_m, gallop.north_m))
    return replace(gallop, plane=plane, east_m=east, north_m=north)


def _positions(track: Track, piece: Bout) -> tuple[Floats, Floats, Floats]:
    """Return the moments of a piece that have a position, metres east, and north."""
    first, last = np.searchsorted(track.time_s, [piece.start_s, piece.end_s])
    inside = np.arange(first, last)
    inside = inside[np.isfinite(track.east_m[inside]) & np.isfinite(track.north_m[inside])]
    return track.time_s[inside], track.east_m[inside], track.north_m[inside]


def _best_begin(gallop: Gallop, line: Gallop, at: tuple[Floats, Floats], gone: Floats, *, forward: bool) -> _Try:
    """Try all beginnings of a piece on a line by which its middle is near the line, and return the one that fits best.

    (What is on a line for more than half of its way is on it in the middle.)

    The cost is the mean square of the distances from where the horse should be, in units of `ASIDE_M`, each at most
    `MOST_OFF`; a distance along the line counts a third of one beside it, since running distance drifts.
    """
    way = 1.0 if forward else -1.0
    middle = int(np.searchsorted(gone, 0.5 * gone[-1]))
    places = np.arange(0.0, line.length_m, SEARCH_M)
    near = np.hypot(at[0][middle] - line.at(places)[0], at[1][middle] - line.at(places)[1]) < 2.0 * OFF_M
    if not near.any():
        return _Try(gallop, line, forward, 0.0, MOST_OFF, 0.0, 0.0)
    begins = places[near] - way * gone[middle]
    where = begins[:, None] + way * gone[None, :]
    east, north = line.at(where.ravel())
    e_way, n_way = line.heading(where.ravel())
    off_east = at[0] - east.reshape(where.shape)
    off_north = at[1] - north.reshape(where.shape)
    e_way, n_way = e_way.reshape(where.shape), n_way.reshape(where.shape)
    ahead, aside = off_east * e_way + off_north * n_way, off_east * n_way - off_north * e_way
    off = np.hypot(0.3 * ahead, aside)
    on = off < OFF_M  # beyond the ends `off` is NaN, which is not on it
    mean = np.where(on, np.minimum((off / ASIDE_M) ** 2, MOST_OFF), MOST_OFF).mean(axis=1)
    best = int(np.argmin(mean))
    steps = np.gradient(gone)
    total = float(steps.sum())
    metres = float(steps[on[best]].sum())
    share = metres / total if total > 0.0 else 0.0
    return _Try(gallop, line, forward, float(begins[best]), float(mean[best]), share, metres)


def _places(best: _Try, at: tuple[Floats, Floats], gone: Floats, moments: Floats) -> tuple[Floats, Floats]:
    """Return places along the line and metres beside it: where the horse should be, corrected by where it was.

    The correction is the mean over `STEADY_S`, as positions are wrong by metres that come and go slowly, while running
    distance is right from one furlong to the next.
    """
    should = best.begin_m + (1.0 if best.forward else -1.0) * gone
    place, aside = should, np.full(should.size, np.nan)
    for _ in range(2):
        east, north = best.line.at(place)
        e_way, n_way = best.line.heading(place)
        ahead = (at[0] - east) * e_way + (at[1] - north) * n_way
        aside = (at[0] - east) * n_way - (at[1] - north) * e_way
        known = np.flatnonzero(np.hypot(ahead, aside) < 2.0 * OFF_M)
        if known.size:
            place = place + np.interp(moments, moments[known], ahead[known])
    return should + steady(moments, place - should), aside


def steady(moments: Floats, values: Floats) -> Floats:
    """Return the means of (n,) values over `STEADY_S` around each moment, less at the ends."""
    summed = np.concatenate([[0.0], np.cumsum(values)])
    half = np.minimum(0.5 * STEADY_S, np.minimum(moments - moments[0], moments[-1] - moments) + 2.0)
    first = np.searchsorted(moments, moments - half)
    last = np.searchsorted(moments, moments + half, side="right")
    return np.asarray((summed[last] - summed[first]) / (last - first))
