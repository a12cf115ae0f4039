"""Limits of the yard's mornings as it said them."""

from collections.abc import Mapping
from dataclasses import dataclass

from upsides.books.models import Gallop, Yard
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment


@dataclass(frozen=True, slots=True)
class Limits:
    """Limits of the yard as it said them.

    Args:
        fast: the most horses in fast work, Monday first; None for a day of which it was not said.
        each: horses that one rider rides in a morning, None where it was not said.
        slots: the most horses of a morning on each gallop of which it was said, by number of the gallop.
    """

    fast: tuple[int | None, ...]
    each: int | None
    slots: Mapping[int, int]


def yard_limits(moment: Moment) -> Limits:
    """Return the limits of the yard's mornings as they stood."""
    row = moments.rows(Yard, moment).get()
    gallops = moments.rows(Gallop, moment).filter(slots__isnull=False, used=True)
    slots = {gallop.id: gallop.slots for gallop in gallops if gallop.slots is not None}
    return Limits(tuple(row.fast_most or [None] * 7), row.rides_each, slots)
