"""The yard's gallops on the ground: where each runs, and where its marks stand."""

from functools import cache
from typing import Final

import numpy as np

from upsides.demo.morning_sim.ground import PLANE, Line, height_m, turned
from upsides.recordings.gallops.shape import Gallop, gallop_line
from upsides.recordings.plane import from_plane
from upsides.trade.units import FURLONG_M

CHIP, SAND, TURF, WALK = "Kestrel Rise", "Long Sand", "Cowslip Strip", "Beech Walk"
"""Names of the gallops."""
SURFACES: Final = {CHIP: "woodchip", SAND: "sand", TURF: "turf", WALK: "other"}
_SIDE_M = 500.0
_BEND_M = (8 * FURLONG_M - 2 * _SIDE_M) / 2
_LINES: Final = {
    CHIP: ((260.0, 150.0), 12.0, [(5 * FURLONG_M, 0.0)]),
    SAND: ((-700.0, -150.0), 355.0, [(_SIDE_M, 0.0), (_BEND_M, 180.0), (_SIDE_M, 0.0), (_BEND_M, 180.0)]),
    TURF: ((150.0, -520.0), 98.0, [(600.0, 0.0), (300.0, -24.0), (8 * FURLONG_M - 900.0, 0.0)]),
    WALK: ((40.0, -60.0), 104.0, [(500.0, -20.0), (500.0, 12.0), (400.0, 0.0)]),
}
"""Where each begins, metres east and north of the gate; its heading; its pieces, metres and degrees turned: five
furlongs straight up the hill, a round of a mile, a mile with a bend, and a walk among trees."""


@cache
def strips() -> dict[str, Gallop]:
    """Return the gallops by name."""
    return {name: _strip(name, turned(start, heading, turns)) for name, (start, heading, turns) in _LINES.items()}


def _strip(name: str, line: Line) -> Gallop:
    closed, height = name == SAND, height_m(*line)
    gallop = gallop_line(name, PLANE, *line, height_m=height, width_m=16.0, closed=closed)
    if not closed:
        return gallop
    poles = gallop.marks_m[1:-1]  # the yard has put none where its round closes
    return gallop_line(name, PLANE, *line, height_m=height, marks_m=poles, width_m=16.0, closed=True)


def drawn(gallop: Gallop) -> tuple[list[list[float]], list[float]]:
    """Return a gallop as the books hold it: latitude, longitude and height of each point, and metres of its marks."""
    latitude, longitude = from_plane(PLANE, gallop.east_m, gallop.north_m)
    points = np.stack([latitude.round(7), longitude.round(7), gallop.height_m.round(1)], axis=1)
    return points.tolist(), gallop.marks_m.round(1).tolist()
