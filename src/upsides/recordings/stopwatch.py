"""What a thumb on a stopwatch measures: sections, furlongs and gaps between horses, with their errors.

A clocking is a start and presses at marks. Each press is off by an error of its own, independent of the others, so a
time is a difference of two such errors, and neighbouring sections share a press: when one comes out long, the next
comes out short, with a correlation of -1/2. Everything here is a weighted sum of presses, and the covariances follow
from that without further assumptions.

`splits` are everywhere (k, 2): metres from where the clock began and seconds since then, both rising.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from upsides.recordings.work import Split
from upsides.trade.units import FURLONG_M

Floats = NDArray[np.float64]

PRESS_SD_S: Final = 0.15
"""Standard deviation of one press around the moment at which the horse passed, s (common practice, no source).

What presses share, such as a thumb that is always late by as much, falls out of every difference."""
SNAP_M: Final = 1.0
"""A mark so near to a whole furlong stands at it, m: marks are written in whole metres, furlongs are 201.168 m."""


@dataclass(frozen=True, slots=True, eq=False)
class Sections:
    """Lengths of ground that follow one another, and the times over them.

    Attributes:
        begin_m: (k,) where each begins, metres from where the clock began.
        end_m: (k,) where each ends.
        seconds: (k,) what each took.
        covariance: (k, k) of the errors of `seconds`, s².
    """

    begin_m: Floats
    end_m: Floats
    seconds: Floats
    covariance: Floats

    @property
    def sd_s(self) -> Floats:
        """Standard deviations of the times, s."""
        return np.sqrt(np.diag(self.covariance))

    @property
    def speed_ms(self) -> Floats:
        """Mean speeds, m/s."""
        return (self.end_m - self.begin_m) / self.seconds

    @property
    def speed_sd_ms(self) -> Floats:
        """Standard deviations of the mean speeds, m/s, to first order: v sd / t."""
        return self.speed_ms * self.sd_s / self.seconds


@dataclass(frozen=True, slots=True)
class Stretch:
    """The fastest stretch of some length.

    The fastest of several is a little too fast, because luck is picked with it; `sd_s` does not hold the pick.

    Attributes:
        begin_m: where it begins, metres from where the clock began.
        end_m: where it ends.
        seconds: what it took.
        sd_s: standard deviation of that.
    """

    begin_m: float
    end_m: float
    seconds: float
    sd_s: float


@dataclass(frozen=True, slots=True)
class Gap:
    """How far one horse was behind another.

    Attributes:
        at_m: where, metres from where the clock began.
        seconds: how much later the second passed; less than 0 where it was in front.
        sd_s: standard deviation of that.
    """

    at_m: float
    seconds: float
    sd_s: float


def sections(splits: ArrayLike, press_sd_s: float = PRESS_SD_S) -> Sections:
    """Return what the horse took from each mark to the next, the first from the start.

    Args:
        splits: (k, 2) metres and seconds.
        press_sd_s: standard deviation of one press.
    """
    metres, seconds = _presses(splits)
    return _between(metres, seconds, metres, press_sd_s)


def furlongs(splits: ArrayLike, press_sd_s: float = PRESS_SD_S) -> Sections:
    """Return the whole furlongs from where the clock began; what is left of the last one is not clocked.

    A furlong that ends between two marks is taken at the even speed between them. That is a guess of how the horse
    went, and its error is not in the covariance; where marks stand at furlongs nothing is guessed.

    Args:
        splits: (k, 2) metres and seconds.
        press_sd_s: standard deviation of one press.
    """
    metres, seconds = _presses(splits)
    ends = FURLONG_M * np.arange(int((metres[-1] + SNAP_M) / FURLONG_M) + 1, dtype=np.float64)
    return _between(metres, seconds, _snapped(ends, metres), press_sd_s)


def best(splits: ArrayLike, asked: float, press_sd_s: float = PRESS_SD_S) -> Stretch | None:
    """Return the fastest stretch of so many furlongs, None where less was clocked.

    At an even speed between marks the fastest begins or ends at one.

    Args:
        splits: (k, 2) metres and seconds.
        asked: furlongs.
        press_sd_s: standard deviation of one press.
    """
    metres, seconds = _presses(splits)
    length = asked * FURLONG_M
    begins = np.concatenate([metres, metres - length])
    begins = np.unique(begins[(begins >= -SNAP_M) & (begins + length <= metres[-1] + SNAP_M)])
    if not begins.size:
        return None
    starts, ends = _snapped(begins, metres), _snapped(begins + length, metres)
    weights = _weights(ends, metres) - _weights(starts, metres)
    took = weights @ seconds
    least = int(np.argmin(took / (ends - starts)))
    sd = press_sd_s * float(np.linalg.norm(weights[least]))
    return Stretch(float(starts[least]), float(ends[least]), float(took[least]), sd)


def gaps(
    first: Sequence[Sequence[float]],
    second: Sequence[Sequence[float]],
    press_sd_s: float = PRESS_SD_S,
) -> tuple[Gap, ...]:
    """Return how far the second horse was behind the first at each mark at which both were clocked, in their order.

    Both were clocked by the same thumb from one start, which falls out: two presses are left. Where they are pressed by
    two thumbs that wait for the same post their errors are alike, and the gap is better known than is said here.

    Args:
        first: (k, 2) metres and seconds of one horse.
        second: the same of the other.
        press_sd_s: standard deviation of one press.
    """
    one, other = ({round(metres, 1): seconds for metres, seconds in splits} for splits in (first, second))
    sd = float(np.sqrt(2.0)) * press_sd_s
    return tuple(Gap(at, other[at] - one[at], sd) for at in sorted(one.keys() & other.keys()))


def _presses(splits: ArrayLike) -> tuple[Floats, Floats]:
    """Return where and when was pressed, the start first."""
    table = np.asarray(splits, dtype=np.float64).reshape(-1, 2)
    return np.concatenate([[0.0], table[:, 0]]), np.concatenate([[0.0], table[:, 1]])


def _between(metres: Floats, seconds: Floats, ends: Floats, press_sd_s: float) -> Sections:
    """Return the times from each of `ends` to the next."""
    weights = np.diff(_weights(ends, metres), axis=0)
    return Sections(ends[:-1], ends[1:], weights @ seconds, press_sd_s**2 * weights @ weights.T)


def _weights(where: Floats, metres: Floats) -> Floats:
    """Return the (k, n) weights of the presses in the times at which the horse was at `where`."""
    after = np.clip(np.searchsorted(metres, where), 1, metres.size - 1)
    share = (where - metres[after - 1]) / (metres[after] - metres[after - 1])
    weights, rows = np.zeros((where.size, metres.size)), np.arange(where.size)
    weights[rows, after - 1], weights[rows, after] = 1 - share, share
    return weights


def _snapped(where: Floats, metres: Floats) -> Floats:
    """Return places, those near a mark moved to it."""
    nearest = metres[np.argmin(np.abs(where[:, None] - metres), axis=1)]
    return np.where(np.abs(where - nearest) <= SNAP_M, nearest, where)


def splits_of(clocked: Sections) -> tuple[Split, ...]:
    """Return sections as lengths of ground, each with its time and the error of that."""
    return tuple(
        Split(*(float(one) for one in row))
        for row in zip(clocked.end_m - clocked.begin_m, clocked.seconds, clocked.sd_s, strict=True)
    )
