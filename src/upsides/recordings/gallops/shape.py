"""A gallop: a line on the ground with a width, and marks along it."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from upsides.errors import GallopLineError
from upsides.errors.wording import gettext as _
from upsides.recordings.track import Plane
from upsides.trade.units import FURLONG_M

Floats = NDArray[np.float64]

SHORTEST_M = 100.0
"""Shorter than this no line is a gallop."""


@dataclass(frozen=True, slots=True, eq=False)
class Gallop:
    """A line along the middle of a gallop, in the direction in which it is worked up.

    Attributes:
        name: what the yard calls it.
        plane: where the plane of the line touches the earth.
        east_m: (k,) metres east of the plane's point, from start to finish.
        north_m: (k,) metres north.
        height_m: (k,) metres above sea level; NaN where not known.
        marks_m: (j,) where the marks stand, metres along the line, rising; every furlong where none are given.
        width_m: how wide it is.
        closed: whether the finish runs on into the start.
        along_m: (k,) metres along the line.

    Raises:
        GallopLineError: a line that is too short, that is broken, or whose marks do not stand on it in order.
    """

    name: str
    plane: Plane
    east_m: Floats
    north_m: Floats
    height_m: Floats
    marks_m: Floats
    width_m: float = 20.0
    closed: bool = False
    along_m: Floats = field(init=False)

    def __post_init__(self) -> None:
        if self.east_m.size < 2 or not (np.isfinite(self.east_m).all() and np.isfinite(self.north_m).all()):
            raise GallopLineError(self.name, _("its line has fewer than two points, or gaps"))
        steps = np.hypot(np.diff(self.east_m), np.diff(self.north_m))
        object.__setattr__(self, "along_m", np.concatenate([[0.0], np.cumsum(steps)]))
        if self.length_m < SHORTEST_M:
            raise GallopLineError(
                self.name,
                _(
                    "it is {length_m:.0f} m long, and a gallop has {shortest_m:.0f} m",
                    length_m=self.length_m,
                    shortest_m=SHORTEST_M,
                ),
            )
        if (steps <= 0.0).any():
            raise GallopLineError(self.name, _("a point of its line stands twice"))
        if (np.diff(self.marks_m) <= 0.0).any() or not self.on_line(self.marks_m):
            raise GallopLineError(self.name, _("its marks do not stand along it in rising order"))

    @property
    def length_m(self) -> float:
        """Metres from start to finish."""
        return float(self.along_m[-1])

    @property
    def rise_m(self) -> float:
        """Metres that the finish stands above the start; NaN where not known."""
        return float(self.height_m[-1] - self.height_m[0])

    def on_line(self, places_m: Floats) -> bool:
        """Say whether all places stand between start and finish, to a metre."""
        return bool(((places_m >= -1.0) & (places_m <= self.length_m + 1.0)).all())

    def at(self, places_m: Floats) -> tuple[Floats, Floats]:
        """Return metres east and north of places along the line; beyond its ends NaN, unless it is closed."""
        where = np.mod(places_m, self.length_m) if self.closed else places_m
        east = np.interp(where, self.along_m, self.east_m, left=np.nan, right=np.nan)
        return east, np.interp(where, self.along_m, self.north_m, left=np.nan, right=np.nan)

    def heading(self, places_m: Floats) -> tuple[Floats, Floats]:
        """Return the unit vector (east, north) along the line at places along it."""
        where = np.mod(places_m, self.length_m) if self.closed else places_m
        leg = np.clip(np.searchsorted(self.along_m, where, side="right") - 1, 0, self.along_m.size - 2)
        step = np.diff(self.along_m)[leg]
        return np.diff(self.east_m)[leg] / step, np.diff(self.north_m)[leg] / step


def furlong_marks(length_m: float) -> Floats:
    """Return where start, furlongs and finish of a line stand; a furlong within 20 m of the finish is the finish."""
    marks = np.arange(0.0, length_m + 20.0, FURLONG_M)
    if abs(length_m - marks[-1]) >= 20.0:
        return np.append(marks, length_m)
    marks[-1] = length_m
    return marks


def gallop_line(
    name: str,
    plane: Plane,
    east_m: Floats,
    north_m: Floats,
    *,
    height_m: Floats | None = None,
    marks_m: Floats | None = None,
    width_m: float = 20.0,
    closed: bool = False,
) -> Gallop:
    """Make a gallop of the points of its line, with a mark every furlong where none are given."""
    length = float(np.nan_to_num(np.hypot(np.diff(east_m), np.diff(north_m))).sum())
    return Gallop(
        name,
        plane,
        east_m,
        north_m,
        np.full(east_m.size, np.nan) if height_m is None else height_m,
        furlong_marks(length) if marks_m is None else marks_m,
        width_m=width_m,
        closed=closed,
    )
