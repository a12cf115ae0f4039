"""Furlong by furlong: what each took, and how well that is known."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.bouts.along import Along
from upsides.trade.units import FURLONG_M

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Section:
    """A length of ground and the time over it.

    Attributes:
        begin_m: where it begins, metres from the start of the bout, or along the gallop where marks are used.
        end_m: where it ends.
        start_s: when the horse came to it, seconds since 1970.
        seconds: what it took.
        sd_s: standard deviation of that.
    """

    begin_m: float
    end_m: float
    start_s: float
    seconds: float
    sd_s: float

    @property
    def speed_ms(self) -> float:
        """Mean speed, m/s."""
        return abs(self.end_m - self.begin_m) / self.seconds


def furlongs(along: Along) -> tuple[Section, ...]:
    """Clock every whole furlong (201.168 m) from the start of a bout; what is left of the last one is not clocked."""
    ends = FURLONG_M * np.arange(int(along.metres / FURLONG_M) + 1)
    when = along.when(along.along_m[0] + ends)
    sd = along.took_sd(when[:-1], when[1:])
    return tuple(
        Section(float(a), float(b), float(t), float(u - t), float(s))
        for a, b, t, u, s in zip(ends[:-1], ends[1:], when[:-1], when[1:], sd, strict=True)
    )
