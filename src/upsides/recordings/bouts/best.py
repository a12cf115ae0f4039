"""The fastest furlong, two, three and five of a bout, wherever in it they begin."""

from dataclasses import dataclass

import numpy as np

from upsides.recordings.bouts.along import Along
from upsides.trade.units import FURLONG_M

ASKED = (1, 2, 3, 5)
"""Furlongs."""


@dataclass(frozen=True, slots=True)
class Best:
    """The fastest so many furlongs.

    The fastest of many is a little too fast where speeds are uncertain, because luck is picked with it; `sd_s` is the
    error of that window's time and does not hold the pick.

    Attributes:
        furlongs: how many.
        start_s: when they began, seconds since 1970.
        seconds: what they took.
        sd_s: standard deviation of that.
    """

    furlongs: int
    start_s: float
    seconds: float
    sd_s: float


def fastest(along: Along, furlongs: int) -> Best | None:
    """Return the fastest so many furlongs of a bout, None where it is shorter.

    Between fixes the speed is taken as even, and then the least time is of a window that begins or ends at a fix.
    """
    metres = furlongs * FURLONG_M
    if along.metres < metres:
        return None
    begins = np.concatenate([along.along_m, along.along_m - metres])
    begins = begins[(begins >= along.along_m[0]) & (begins + metres <= along.along_m[-1])]
    start, end = along.when(begins), along.when(begins + metres)
    least = int(np.argmin(end - start))
    sd = float(along.took_sd(start[least : least + 1], end[least : least + 1])[0])
    return Best(furlongs, float(start[least]), float(end[least] - start[least]), sd)


def bests(along: Along) -> tuple[Best, ...]:
    """Return the fastest 1, 2, 3 and 5 furlongs, as far as the bout is long enough."""
    found = (fastest(along, furlongs) for furlongs in ASKED)
    return tuple(best for best in found if best is not None)
