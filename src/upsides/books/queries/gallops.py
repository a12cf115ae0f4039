"""The yard's gallops as lines on the ground, as far as they have been drawn."""

from collections.abc import Sequence
from math import hypot

import numpy as np

from upsides.books.models import Gallop as Row
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment
from upsides.recordings.gallops.shape import Gallop, gallop_line
from upsides.recordings.plane import plane_at, to_plane

CLOSED_M = 1.0
"""A line whose last point is this near to its first is a circuit."""


def lines(moment: Moment) -> dict[int, Gallop]:
    """Return the gallops in use that have been drawn, by their numbers."""
    drawn = moments.rows(Row, moment).filter(used=True).order_by("name")
    return {row.pk: line_of(row.name, row.line, row.marks) for row in drawn if row.line}


def line_of(name: str, line: Sequence[Sequence[float | None]], marks: Sequence[float]) -> Gallop:
    """Return a gallop out of what the books hold of it.

    Args:
        name: what it is called.
        line: latitude, longitude and height, or None, of each point.
        marks: metres from its start; without any, every furlong.

    Raises:
        GallopLineError: it is no gallop.
    """
    points = np.array([[np.nan if value is None else value for value in point] for point in line], dtype=np.float64)
    latitude, longitude, height = points.reshape(-1, 3).T
    plane = plane_at(latitude, longitude)
    east, north = to_plane(plane, latitude, longitude)
    closed = hypot(east[-1] - east[0], north[-1] - north[0]) < CLOSED_M
    placed = np.asarray(marks, dtype=np.float64) if marks else None
    return gallop_line(name, plane, east, north, height_m=height, marks_m=placed, closed=closed)
