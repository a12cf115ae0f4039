"""Which of the pieces that a horse worked on a day its order was of, and which were canters besides."""

from collections.abc import Sequence
from typing import Final

from upsides.books.diary.clocked import INSTRUCTION_OF
from upsides.books.diary.work import FAST, Exercise, Ordered
from upsides.recordings.measured import Piece
from upsides.trade.units import FURLONG_M

FAR: Final = 0.5
"""A piece of less than this part of what was ordered is not it where a longer one is. Our own choice."""


def as_ordered(pieces: Sequence[Piece], order: Ordered | Exercise) -> list[Piece]:
    """Return the pieces of a day that were what was ordered, or done by the diary: by kind, gallop and distance.

    Of pieces of which none is of the ordered kind the fastest is meant where fast work was ordered. An order that asks
    for no pace, a race or stalls, is of the whole day.
    """
    if order.exercise not in INSTRUCTION_OF:
        return list(pieces)
    fast = order.exercise in FAST
    found = [one for one in pieces if (one.kind == "fast") == fast]
    if not found:
        found = [max(pieces, key=lambda one: one.speed_ms)] if fast and pieces else list(pieces)
    there = [one for one in found if one.gallop is not None and one.gallop.number == order.gallop]
    found = there or found
    if order.furlongs is None:
        return found
    long = [one for one in found if one.told_m >= FAR * order.furlongs * FURLONG_M]
    return long or found
