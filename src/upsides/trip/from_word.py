"""What riders said of the trip after races: shorter, about right, further.

A word is read as where the best trip t stands against the race's own x, octaves, heard with an error:

    further where t - x + e > c,   shorter where t - x + e < -c,   about right between,   e ~ N(0, s^2)

Riders speak of the race that they have just ridden, which the runs know too, and the same people speak again; so all
words together count as two at the most. c, s and that are own choices, wide: nobody has measured them.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr, ndtr

Floats = NDArray[np.float64]

ABOUT: Final = 0.2
"""Octaves within which a trip is about right: a furlong and a bit at a mile."""
HEARD: Final = 0.5
"""Error of a word, octaves."""
MOST: Final = 2.0
"""Words that all of them count for at most."""
Wants = Literal["shorter", "right", "further"]


@dataclass(frozen=True, slots=True)
class Word:
    """What was said after one race.

    Attributes:
        trip: of the race, octaves of furlongs.
        wants: the trip that the horse would rather have.
    """

    trip: float
    wants: Wants


def log_likelihood(words: Sequence[Word], grid: Floats) -> Floats:
    """Return what words say of each trip, (grid,); nothing where there are none.

    Args:
        words: what was said, in any order.
        grid: (grid,) trips, octaves.
    """
    if not words:
        return np.zeros(grid.size)
    share = min(1.0, MOST / len(words))
    return np.asarray(share * sum(_one(word, grid) for word in words), dtype=np.float64)


def _one(word: Word, grid: Floats) -> Floats:
    off = grid - word.trip
    if word.wants == "right":
        far = np.abs(off)
        return np.asarray(np.log(ndtr((ABOUT - far) / HEARD) - ndtr((-ABOUT - far) / HEARD)))
    return np.asarray(log_ndtr(((off if word.wants == "further" else -off) - ABOUT) / HEARD))
