"""When the rounds of a day go by, barn by barn; seconds of the yard's own day."""

from typing import Final

import numpy as np

from upsides.demo.yardbooks.grid import Ints
from upsides.demo.yardbooks.seasons import Seasons

MORNING: Final = np.array([4 * 3600 + 2700, 5 * 3600 + 600, 6 * 3600 + 600])
"""A quarter to five, ten past five and ten past six: at six the third barn has not been seen yet."""
EVENING: Final = np.array([16 * 3600 + 300, 16 * 3600 + 600, 16 * 3600 + 900])
_A_BOX_S = 65


def morning_round(rng: np.random.Generator, seasons: Seasons, horses: Ints) -> Ints:
    """Return when horses are looked at in the morning."""
    return _round(rng, seasons, horses, MORNING)


def evening_round(rng: np.random.Generator, seasons: Seasons, horses: Ints) -> Ints:
    """Return when horses are looked at at evening stables."""
    return _round(rng, seasons, horses, EVENING)


def _round(rng: np.random.Generator, seasons: Seasons, horses: Ints, begins: Ints) -> Ints:
    walked = _A_BOX_S * seasons.order[horses] + rng.integers(0, 40, horses.size)
    found: Ints = begins[seasons.own.barn[horses]] + walked
    return found
