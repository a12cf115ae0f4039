"""The ground of the invented yard: its gallops, its lanes and its hills, at a place in the sea that is nobody's."""

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.gallops.shape import Gallop, gallop_line
from upsides.recordings.track import Plane
from upsides.trade.units import FURLONG_M

Floats = NDArray[np.float64]
Line = tuple[Floats, Floats]

PLANE = Plane(latitude=49.5, longitude=-15.0)
"""In the Atlantic, so that the invented yard lies on no real one."""

HOME = (0.0, 0.0)
"""The gate of the yard, metres east and north."""


def height_m(east_m: Floats, north_m: Floats) -> Floats:
    """Return metres above sea level: ground that rises 2 % to the north and 0.8 % to the east, gently rolling."""
    rolling = 1.5 * np.sin(east_m / 310.0) + 1.0 * np.cos(north_m / 270.0)
    return 90.0 + 0.020 * north_m + 0.008 * east_m + rolling


def turned(start: tuple[float, float], heading_deg: float, turns: list[tuple[float, float]]) -> Line:
    """Draw a line from a start, by pieces of so many metres that turn so many degrees in all, in steps of 5 m or so."""
    steps, headings = [], []
    heading = heading_deg
    for metres, turn in turns:
        count = max(1, round(metres / 5.0))
        steps += [metres / count] * count
        headings += [heading + turn * (k + 0.5) / count for k in range(count)]
        heading += turn
    angle, step = np.radians(headings), np.array(steps)
    east = start[0] + np.concatenate([[0.0], np.cumsum(step * np.sin(angle))])
    return east, start[1] + np.concatenate([[0.0], np.cumsum(step * np.cos(angle))])


def _gallop(name: str, line: Line, *, closed: bool = False) -> Gallop:
    return gallop_line(name, PLANE, *line, height_m=height_m(*line), width_m=16.0, closed=closed)


def yard_gallops() -> tuple[Gallop, ...]:
    """Return the gallops: the hill, 5 f straight and rising; the round, 8 f; the long gallop, 10 f with a bend."""
    straight = 500.0
    bend = (8 * FURLONG_M - 2 * straight) / 2
    oval = [(straight, 0.0), (bend, 180.0), (straight, 0.0), (bend, 180.0)]
    return (
        _gallop("the hill", turned((260.0, 150.0), 12.0, [(5 * FURLONG_M, 0.0)])),
        _gallop("the round", turned((-700.0, -150.0), 355.0, oval), closed=True),
        _gallop("the long gallop", turned((150.0, -520.0), 70.0, [(800.0, 0.0), (500.0, -35.0), (711.68, 0.0)])),
    )


def beside(line: Line, metres: float) -> Line:
    """Return the line that runs so many metres to the right of another."""
    across = np.arctan2(np.gradient(line[0]), np.gradient(line[1]))
    return line[0] + metres * np.cos(across), line[1] - metres * np.sin(across)


def straight_on(line: Line, metres: float) -> Line:
    """Return the straight line of so many metres that begins where another ends, in its direction."""
    way = np.array([line[0][-1] - line[0][-2], line[1][-1] - line[1][-2]])
    way = way / np.hypot(*way)
    far = np.linspace(0.0, metres, max(2, round(metres / 5.0)))
    return line[0][-1] + far * way[0], line[1][-1] + far * way[1]
