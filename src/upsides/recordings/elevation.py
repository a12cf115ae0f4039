"""Heights of the ground out of SRTM tiles (.hgt): one degree by one degree, metres above mean sea level (EGM96 geoid).

A tile is 1201 or 3601 rows of as many big-endian 16-bit numbers, from north to south, each row from west to east; the
outermost rows and columns are shared with the neighbours; -32768 stands for nothing. Its name gives the corner in the
south-west (SRTM Topography documentation, USGS/NASA, version 2).
"""

import re
import zlib
from dataclasses import dataclass
from pathlib import PurePath

import numpy as np
from numpy.typing import NDArray

from upsides.errors import TileRefusedError
from upsides.errors.wording import gettext as _

Floats = NDArray[np.float64]

SIDES = (1201, 3601)
VOID = -32768
CORNER = re.compile(r"(?P<ns>[NS])(?P<lat>\d{2})(?P<ew>[EW])(?P<lon>\d{3})\.hgt(\.gz)?", re.IGNORECASE)


@dataclass(frozen=True, slots=True, eq=False)
class Tile:
    """Heights over one degree by one degree.

    Attributes:
        south: degrees north of the southern edge.
        west: degrees east of the western edge.
        heights: (side, side) metres, from north to south and west to east; VOID where not known.
    """

    south: int
    west: int
    heights: NDArray[np.int16]

    def at(self, latitude: Floats, longitude: Floats) -> Floats:
        """Return heights (n,) in metres between the four posts about each place; NaN outside, or beside a void."""
        last = self.heights.shape[0] - 1
        down = (self.south + 1 - latitude) * last
        right = ((longitude - self.west + 180) % 360 - 180) * last
        inside = (down >= 0) & (down <= last) & (right >= 0) & (right <= last)
        down, right = np.where(inside, down, 0.0), np.where(inside, right, 0.0)
        row, column = np.minimum(down.astype(np.int64), last - 1), np.minimum(right.astype(np.int64), last - 1)
        south, east = down - row, right - column
        height = np.zeros(np.shape(latitude))
        for post_row, share in ((row, 1 - south), (row + 1, south)):
            for post_column, part in ((column, 1 - east), (column + 1, east)):
                post = self.heights[post_row, post_column].astype(np.float64)
                post[post == VOID] = np.nan
                height += np.where(share * part > 1e-9, post * share * part, 0.0)
        return np.where(inside, height, np.nan)


def read_tile(name: str, content: bytes) -> Tile:
    """Read a tile.

    Args:
        name: the file's name, e.g. "N57E011.hgt", with or without ".gz"; folders before it do not matter.
        content: its bytes, gzipped or not.

    Raises:
        TileRefusedError: another name or size.
    """
    corner = CORNER.fullmatch(PurePath(name).name)
    if corner is None:
        raise TileRefusedError(name, _("its name does not give the corner it stands on"))
    plain = _unpacked(name, content)
    for side in SIDES:
        if len(plain) == 2 * side * side:
            south = int(corner["lat"]) * (1 if corner["ns"].upper() == "N" else -1)
            west = int(corner["lon"]) * (1 if corner["ew"].upper() == "E" else -1)
            return Tile(south, west, np.frombuffer(plain, dtype=">i2").astype(np.int16).reshape(side, side))
    raise TileRefusedError(
        name, _("it holds {count} bytes, not those of 1201 by 1201 or 3601 by 3601 heights", count=len(plain))
    )


def _unpacked(name: str, content: bytes) -> bytes:
    """Return the bytes of a gzipped tile, never many more than the largest tile has."""
    if content[:2] != b"\x1f\x8b":
        return content
    try:
        return zlib.decompressobj(wbits=31).decompress(content, 2 * SIDES[-1] ** 2 + 1)
    except zlib.error as error:
        raise TileRefusedError(name, _("it cannot be unpacked ({error})", error=error)) from error
