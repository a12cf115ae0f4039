"""Slopes within races: how much what runs were worth leans on something that differs between the runners of a race.

    y_ir = race_r + x_ir' b_r + e_ir,    e_ir ~ N(0, s^2)

is solved in every race by itself, so nothing that is common to a race matters. A race's slope and the variance that it
has by luck, s^2 (X'X)^-1 with X centred in the race, are all that the race says of the slope.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

FEWEST_LEFT = 1
"""Runs that a race must have beyond what is estimated in it."""
LEAST_SPREAD = 1e-6
FARTHEST_SD = 3.0
"""A run further from its race's line than this counts as if it stood there: beaten horses are eased."""


@dataclass(frozen=True, slots=True)
class RaceSlopes:
    """Slopes of races.

    Attributes:
        race: (races,) which races have one.
        slope: (races, columns).
        by_luck: (races, columns) their variances by luck.
        error: s, what is left within races.
    """

    race: Ints
    slope: Floats
    by_luck: Floats
    error: float


def race_slopes(x: Floats, y: Floats, race: Ints) -> RaceSlopes:
    """Return the slope of y on x in every race that can tell it.

    Args:
        x: (rows, columns).
        y: (rows,) e.g. lb.
        race: (rows,) whole numbers from 0.
    """
    first = _solved(x, y, race)
    left = _left(first, x, y, race)
    limit = FARTHEST_SD * first.error
    return _solved(x, y - np.sign(left) * np.maximum(np.abs(left) - limit, 0.0), race)


def _solved(x: Floats, y: Floats, race: Ints) -> RaceSlopes:
    races, columns = int(race.max(initial=-1)) + 1, x.shape[1]
    count = np.bincount(race, minlength=races)
    xc, yc = _centred(x, race, count), _centred(y[:, None], race, count)[:, 0]
    square = np.zeros((races, columns, columns))
    both = np.zeros((races, columns))
    np.add.at(square, race, xc[:, :, None] * xc[:, None, :])
    np.add.at(both, race, xc * yc[:, None])
    can = (count >= columns + 1 + FEWEST_LEFT) & (np.linalg.eigvalsh(square)[:, 0] > LEAST_SPREAD)
    inverse = np.linalg.inv(square[can])
    slope = np.einsum("rij,rj->ri", inverse, both[can])
    total = np.bincount(race, yc**2, races)[can].sum() - float((slope * both[can]).sum())
    error = float(np.sqrt(total / max((count[can] - 1 - columns).sum(), 1)))
    return RaceSlopes(np.flatnonzero(can), slope, error**2 * np.diagonal(inverse, axis1=1, axis2=2), error)


def _left(found: RaceSlopes, x: Floats, y: Floats, race: Ints) -> Floats:
    """Return what is left of y beside its race's line; 0 in races without one."""
    races = int(race.max(initial=-1)) + 1
    count = np.bincount(race, minlength=races)
    slope, has = np.zeros((races, x.shape[1])), np.zeros(races, dtype=bool)
    slope[found.race], has[found.race] = found.slope, True
    left = _centred(y[:, None], race, count)[:, 0] - (_centred(x, race, count) * slope[race]).sum(axis=1)
    return np.where(has[race], left, 0.0)


def _centred(values: Floats, race: Ints, count: Ints) -> Floats:
    """Return (rows, columns) values less their race's mean."""
    means = np.stack([np.bincount(race, column, count.size) for column in values.T], axis=1)
    return np.asarray(values - (means / np.maximum(count, 1)[:, None])[race])
