"""A piece of work with its times, whoever took them: what everything that asks what a horse did is given."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from math import isnan, nan
from typing import Final, Literal

Source = Literal["tracker", "thumb", "ordered"]

FASTEST_MS: Final = 25.0
"""No horse is faster over any length between marks (common practice, no source)."""
NO_PACE: Final = (0.91, 0.97)
"""In a first or last length whose speed is no more than the first of these of its neighbour's a horse jumped off or
pulled up; from the second on it was at pace; between them it counts in part, so that no tenth of a second takes a whole
furlong in or out. Our own choice."""


@dataclass(frozen=True, slots=True)
class Split:
    """A length of ground and the time over it.

    Attributes:
        metres: how long it is.
        seconds: what it took.
        sd_s: standard deviation of that. Of a thumb, neighbouring lengths share a press, so that their errors go
            against each other (`upsides.recordings.stopwatch` has the covariances).
    """

    metres: float
    seconds: float
    sd_s: float


@dataclass(frozen=True, slots=True)
class Work:
    """One piece of work of one horse: canter and fast work without a slower gait between.

    Attributes:
        horse: its number in the books.
        when: when it began, an instant; of an order the beginning of its day.
        source: "tracker", "thumb" on a stopwatch, or "ordered" where nobody measured: it says what was to be done, or,
            where the diary tells, what was.
        exercise: what was ordered or done, a word of the diary; "" where nobody said.
        gallop: its number in the books, None where not known.
        forward: whether it went the way of the gallop's line, None where not known.
        metres: how far; NaN where not known.
        seconds: how long it took; NaN where nobody measured.
        splits: lengths that follow one another: between the gallop's marks where those are known, else furlongs from
            where it began.
        told_m: how far as it is told: without the ground before and behind the gallop's line, and of fast work without
            that on which it jumped off and pulled up; NaN where `metres` is to be told.
        speed_ms: mean speed over what was clocked, m/s; NaN where nobody measured.
        speed_sd_ms: its standard deviation.
        instruction: the pace that was ordered, a word of the diary; "" where nobody said.
        left: how much was left at the end, a word of the diary; "" where nobody said.
        rider: number of the person, None where not known.
        rider_kg: what the rider weighed with tack; NaN where not known.
        beside: numbers of the horses that it worked with, as was ordered or said.
        outing: number of the outing that it is out of, None where it is out of none.
        entry: number of the diary's entry that says so, None where none does.
        thumb: the same work as a stopwatch had it, where a tracker measured it too.
        aside: whether it was a canter besides the fast work that was ordered; it says nothing of how good a horse is.
    """

    horse: int
    when: datetime
    source: Source
    exercise: str = ""
    gallop: int | None = None
    forward: bool | None = None
    metres: float = nan
    seconds: float = nan
    splits: tuple[Split, ...] = ()
    told_m: float = nan
    speed_ms: float = nan
    speed_sd_ms: float = nan
    instruction: str = ""
    left: str = ""
    rider: int | None = None
    rider_kg: float = nan
    beside: tuple[int, ...] = ()
    outing: int | None = None
    entry: int | None = None
    thumb: "Work | None" = field(default=None)
    aside: bool = False

    @property
    def far_m(self) -> float:
        """How far as it is told; NaN where nobody knows."""
        return self.metres if isnan(self.told_m) else self.told_m

    @property
    def pace_ms(self) -> float:
        """How fast as it is told; NaN where nobody measured."""
        return pace(self.splits if self.source == "tracker" else (), self.speed_ms)

    @property
    def counts(self) -> tuple[float, ...]:
        """What each of `splits` counts in that, from 0 to 1; a thumb clocks from a flying start to the end of pace."""
        return counts_by(self.source, self.splits)


def fair(splits: Sequence[Split]) -> tuple[Split, ...]:
    """Return the lengths over which a horse can have gone so; where a circuit closes two marks may be one place."""
    return tuple(one for one in splits if one.seconds > 0 and one.metres / one.seconds <= FASTEST_MS)


@dataclass(frozen=True, slots=True)
class AtPace:
    """What of a work was at pace.

    Attributes:
        metres: over how far; 0 without any length.
        seconds: how long that took.
    """

    metres: float
    seconds: float

    @property
    def speed_ms(self) -> float:
        """Mean speed; NaN without any length."""
        return self.metres / self.seconds if self.seconds > 0 else nan


def at_pace(splits: Sequence[Split]) -> AtPace:
    """Return how far and how long a work was at pace, a first length in which it jumped off, and a last, left out.

    So a work by tracker can be held beside one that a thumb clocked from a flying start.
    """
    shares = _shares(splits)
    return AtPace(
        sum(share * one.metres for share, one in zip(shares, splits, strict=True)),
        sum(share * one.seconds for share, one in zip(shares, splits, strict=True)),
    )


def _shares(splits: Sequence[Split]) -> list[float]:
    shares = [1.0] * len(splits)
    if len(splits) > 2:
        for end, beside in ((0, 1), (-1, -2)):
            none, whole = NO_PACE
            shares[end] = min(max((_speed(splits[end]) / _speed(splits[beside]) - none) / (whole - none), 0.0), 1.0)
    return shares


def counts(splits: Sequence[Split]) -> tuple[float, ...]:
    """Return what each of a work's lengths counts at pace, from 0 to 1; 0 where no horse can have gone so."""
    usable = iter(_shares(fair(splits)))
    return tuple(next(usable) if fair([one]) else 0.0 for one in splits)


def counts_by(source: str, splits: Sequence[Split]) -> tuple[float, ...]:
    """Return that by who clocked them: what a thumb presses is all at pace."""
    return counts(splits) if source == "tracker" else (1.0,) * len(splits)


def pace(splits: Sequence[Split], whole_ms: float) -> float:
    """Return how fast a work is told to have been.

    Args:
        splits: its lengths.
        whole_ms: its mean speed over all of it, which is told where it has none.
    """
    even = at_pace(fair(splits))
    return even.speed_ms if even.seconds > 0 else whole_ms


def _speed(split: Split) -> float:
    return split.metres / split.seconds


def decimals(sd: float) -> int:
    """Return how many decimals a value needs whose error is this, so that the error has a digit: one to three."""
    return next((places for places in (1, 2) if sd >= 0.95 * 10.0**-places), 3)


LEAST_SD = 0.001
"""A smaller error is told as this."""
