"""Which pieces of canter and fast work are a work."""

from typing import Final

from upsides.recordings.bouts.along import along_of
from upsides.recordings.bouts.bout import Bout, pieces_of
from upsides.recordings.track import Track
from upsides.trade.units import FURLONG_M

LEAST_M: Final = FURLONG_M
"""A shorter canter is a few strides on the way or the end of another canter, and no work. Our own choice."""


def worked(track: Track, bouts: tuple[Bout, ...]) -> tuple[Bout, ...]:
    """Return the pieces of work among the bouts of a track: fast work of any length, canters of a furlong or more."""
    return tuple(
        piece for piece in pieces_of(bouts) if piece.kind == "fast" or along_of(track, piece).metres >= LEAST_M
    )
