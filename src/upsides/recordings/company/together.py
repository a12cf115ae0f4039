"""Which horses of a morning worked together, found from their tracks alone.

Only pieces of work that overlap in time and place are compared: they are gone through in the order in which they began,
and two are looked at closely when their horses kept near each other at some difference of clocks that may be. Then the
two clocks are compared over all that both horses did, and at that difference the pieces are laid beside each other,
second by second. Horses that went together with the same horse went together.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.bouts.bout import Bout, bouts_of, pieces_of
from upsides.recordings.company.clocks import Clocks, clocks_of, paced
from upsides.recordings.company.sampled import places_at, ways_of
from upsides.recordings.track import Plane, Track

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Settings:
    """What counts as together; common practice, no source.

    Attributes:
        along_m: no further apart along the way: some six lengths.
        across_m: nor across it. Receivers err by metres, so that this is wider than horses work.
        share: for so much of the time of the shorter piece.
        least_s: pieces that overlap for less are not compared.
        clocks_s: clocks differ by no more than this.
    """

    along_m: float = 15.0
    across_m: float = 10.0
    share: float = 0.6
    least_s: float = 20.0
    clocks_s: float = 5.0


USUAL = Settings()

SOME_S = 4
"""Every so many seconds it is looked whether two pieces are near."""

SAME_WAY = 0.7
"""Least cosine between the directions of two horses that go the same way; own choice."""


@dataclass(frozen=True, slots=True)
class Pair:
    """Two horses that went together.

    Attributes:
        first: place of the first horse's track among those given.
        second: of the second's.
        pieces: the piece of work of each, each on its own clock.
        clocks: how the second's clock stands to the first's.
        share: share of the shorter piece for which they kept together.
    """

    first: int
    second: int
    pieces: tuple[Bout, Bout]
    clocks: Clocks
    share: float

    @property
    def span(self) -> tuple[float, float]:
        """When both were at it, by the first's clock."""
        one, other = self.pieces
        return max(one.start_s, other.start_s - self.clocks.ahead_s), min(one.end_s, other.end_s - self.clocks.ahead_s)


@dataclass(frozen=True, slots=True)
class Company:
    """Horses that went together in one piece of work.

    Attributes:
        members: places of their tracks among those given, rising.
        pairs: those of them that were found beside each other.
    """

    members: tuple[int, ...]
    pairs: tuple[Pair, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Piece:
    """A piece of work by whole seconds: (n,) from `first_s` on, metres on a plane that all share."""

    track: int
    piece: Bout
    first_s: int
    east: Floats
    north: Floats


def companies_of(
    tracks: Sequence[Track], pieces: Sequence[Sequence[Bout]] | None = None, settings: Settings = USUAL
) -> tuple[Company, ...]:
    """Return the horses that worked together, in the order in which they began.

    Args:
        tracks: one a horse, in any order; those without positions are passed over.
        pieces: the pieces of work of each, where they are known already.
        settings: what counts as together.
    """
    plane = next((track.plane for track in tracks if track.plane is not None), None)
    if plane is None:
        return ()
    given = [pieces_of(bouts_of(track)) for track in tracks] if pieces is None else pieces
    cut = [
        _by_seconds(place, track, piece, plane)
        for place, track in enumerate(tracks)
        if track.plane is not None
        for piece in given[place]
    ]
    speeds = {place: paced(tracks[place]) for place in {each.track for each in cut}}
    known: dict[tuple[int, int], Clocks] = {}
    pairs = []
    for one, other in _near(sorted(cut, key=lambda each: (each.first_s, each.track)), settings):
        a, b = sorted((one, other), key=lambda each: each.track)
        both = a.track, b.track
        if both not in known:
            known[both] = clocks_of(speeds[a.track], speeds[b.track], settings.clocks_s)
        share = _share(a, b, known[both].ahead_s, settings)
        if share >= settings.share:
            pairs.append(Pair(*both, (a.piece, b.piece), known[both], share))
    return _companies(pairs)


def _by_seconds(place: int, track: Track, piece: Bout, plane: Plane) -> _Piece:
    first, last = int(np.ceil(piece.start_s)), int(np.floor(piece.end_s))
    return _Piece(place, piece, first, *places_at(track, plane, np.arange(first, last + 1.0)))


def _near(pieces: list[_Piece], settings: Settings) -> Iterator[tuple[_Piece, _Piece]]:
    """Yield the pairs of pieces, sorted by when they began, that kept near each other at some difference of clocks."""
    begun: list[_Piece] = []
    for piece in pieces:
        until = piece.first_s + settings.least_s - settings.clocks_s
        begun = [other for other in begun if other.first_s + other.east.size >= until]
        for other in begun:
            if other.track != piece.track and _is_near(other, piece, settings):
                yield other, piece
        begun.append(piece)


def _is_near(one: _Piece, other: _Piece, settings: Settings) -> bool:
    """Say whether two pieces are near for half of their time at one of the differences of clocks that may be."""
    limit = settings.along_m + settings.across_m
    middle = int(np.clip(other.first_s + other.east.size // 2 - one.first_s, 0, one.east.size - 1))
    far = np.hypot(one.east[middle] - other.east, one.north[middle] - other.north)
    if not (far < 2.0 * limit).any():
        return False
    reach = int(np.ceil(settings.clocks_s))
    for ahead in range(-reach, reach + 1):
        late = other.first_s - ahead - one.first_s
        a, b = max(late, 0), min(late + other.east.size, one.east.size)
        if b - a < settings.least_s:
            continue
        rows = np.arange(a, b, SOME_S)
        off = np.hypot(one.east[rows] - other.east[rows - late], one.north[rows] - other.north[rows - late])
        if 2 * np.count_nonzero(off < limit) > np.count_nonzero(np.isfinite(off)):
            return True
    return False


def _share(one: _Piece, other: _Piece, ahead_s: float, settings: Settings) -> float:
    """Return for what share of the shorter piece two horses kept together and went the same way."""
    rows = np.arange(one.east.size)
    late = rows + one.first_s + ahead_s - other.first_s
    both = (late >= 0) & (late <= other.east.size - 1)
    rows, late = rows[both], late[both]
    if rows.size < settings.least_s:
        return 0.0
    east, north = one.east[rows], one.north[rows]
    other_east, other_north = (np.interp(late, np.arange(each.size), each) for each in (other.east, other.north))
    ways, other_ways = ways_of(east, north), ways_of(other_east, other_north)
    off_east, off_north = other_east - east, other_north - north
    along = off_east * ways[0] + off_north * ways[1]
    across = off_east * ways[1] - off_north * ways[0]
    same = ways[0] * other_ways[0] + ways[1] * other_ways[1] > SAME_WAY
    beside = same & (np.abs(along) <= settings.along_m) & (np.abs(across) <= settings.across_m)
    return float(np.count_nonzero(beside)) / min(one.east.size, other.east.size)


def _companies(pairs: list[Pair]) -> tuple[Company, ...]:
    """Join pairs that share a horse in the same piece of work."""
    groups: list[tuple[set[tuple[int, float]], list[Pair]]] = []
    for pair in pairs:
        who = {(place, piece.start_s) for place, piece in zip((pair.first, pair.second), pair.pieces, strict=True)}
        joined = [group for group in groups if group[0] & who]
        groups = [group for group in groups if not group[0] & who]
        mine = [pair, *(one for group in joined for one in group[1])]
        groups.append((who.union(*(group[0] for group in joined)), mine))
    found = [_company(who, mine) for who, mine in groups]
    return tuple(sorted(found, key=lambda each: each.pairs[0].span[0]))


def _company(who: set[tuple[int, float]], pairs: list[Pair]) -> Company:
    members = tuple(sorted({place for place, _ in who}))
    return Company(members, tuple(sorted(pairs, key=lambda one: (one.first, one.second))))
