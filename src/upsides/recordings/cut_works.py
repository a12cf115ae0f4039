"""Works that a recording does not hold whole: it began late, stopped early, or broke off meanwhile."""

from collections.abc import Sequence
from typing import Final

import numpy as np

from upsides.recordings.bouts.bout import Bout
from upsides.recordings.recording import Message
from upsides.recordings.track import Track

EDGE_S: Final = 2.0
"""A work that begins or ends so near to where a recording does was not begun or ended by the horse. Our own choice."""


def breaks_off(track: Track, piece: Bout) -> bool:
    """Return whether a recording ends, or has a gap, where a piece of canter or fast work does."""
    known = np.flatnonzero(np.isfinite(track.speed_ms))
    last = known[np.append(np.diff(track.stretch[known]) != 0, known.size > 0)]
    return bool((np.abs(track.time_s[last] - piece.end_s) <= EDGE_S).any())


def cut_works(track: Track, pieces: Sequence[Bout]) -> tuple[Message, ...]:
    """Say where a recording begins or ends, or has a gap, in the middle of canter or fast work.

    Args:
        track: the recording's.
        pieces: its pieces of canter and fast work, in the order of time.
    """
    if track.rare or not pieces:
        return ()
    known = np.flatnonzero(np.isfinite(track.speed_ms))
    time, apart = track.time_s[known], np.flatnonzero(np.diff(track.stretch[known]))
    late, early = pieces[0].start_s - time[0] <= EDGE_S, time[-1] - pieces[-1].end_s <= EDGE_S
    begins, ends = np.array([one.start_s for one in pieces]), np.array([one.end_s for one in pieces])
    gaps = sum(
        bool((np.abs(ends - time[row]) <= EDGE_S).any() or (np.abs(begins - time[row + 1]) <= EDGE_S).any())
        for row in apart
    )
    return (
        *((Message("begins_at_work"),) if late else ()),
        *((Message("ends_at_work"),) if early else ()),
        *((Message("gaps_at_work", {"count": gaps}),) if gaps else ()),
    )
