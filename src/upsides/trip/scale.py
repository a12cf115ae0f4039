"""The scale of trips: octaves, logarithms to base 2 of furlongs, so that half a mile means less the longer the race.

5f 2.32    6f 2.58    7f 2.81    8f 3.00    10f 3.32    12f 3.58    16f 4.00
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from upsides.trade.units import FURLONG_M

Floats = NDArray[np.float64]

SHORTEST_F, LONGEST_F = 3.5, 24.0
GRID: Floats = np.linspace(np.log2(SHORTEST_F), np.log2(LONGEST_F), 61)
"""Best trips considered, octaves, equal steps of 0.046 (3 %)."""
STEP = float(GRID[1] - GRID[0])
EDGES: Floats = np.concatenate([GRID - STEP / 2, [GRID[-1] + STEP / 2]])
"""Between which each weight of the grid is spread."""


def octaves(metres: ArrayLike) -> Floats:
    """Return distances in metres as octaves."""
    return np.log2(np.asarray(metres, dtype=np.float64) / FURLONG_M)


def furlongs(octave: ArrayLike) -> Floats:
    """Return octaves as furlongs."""
    return np.exp2(np.asarray(octave, dtype=np.float64))


def quantile(weight: Floats, share: float) -> float:
    """Return the trip in octaves below which a share of the weight on GRID lies, each weight spread over its step."""
    return float(np.interp(share, _upto(weight), EDGES))


def below(weight: Floats, octave: float) -> float:
    """Return the share of the weight on GRID that lies below a trip."""
    return float(np.interp(octave, EDGES, _upto(weight)))


def _upto(weight: Floats) -> Floats:
    """Return the share of the weight that lies below each edge."""
    return np.asarray(np.concatenate([[0.0], np.cumsum(weight)]) / weight.sum())
