"""Exercise orders in the yard's words, with their parts and the metres that they come to at each speed."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from upsides.condition.done.usual import Usual
from upsides.recordings.bouts.bins import STEP_MS
from upsides.recordings.bouts.strides import CANTERS_MS
from upsides.trade.units import FURLONG_M

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Segment:
    """One part of an order: metres, mean speed in m/s, metres that it rises, on what (any word, "" for not said)."""

    metres: float
    speed_ms: float
    rise_m: float
    surface: str


@dataclass(frozen=True)
class Order:
    """What a horse may be told to do on a day.

    Attributes:
        name, title: its name in files, and in words.
        exercise: the diary's word.
        effort: which of two orders asks more; equal numbers ask the same.
        furlongs: how far at its pace, None for as far as that exercise usually is.
        rise: metres in a hundred that the part at pace rises.
        surface: what the part at pace is ridden on, "" for not said.
        fast, rest, lesson, ridden, upsides: whether it counts as fast work, as rest, as a lesson at the stalls; has a
            rider; is done beside a partner.
        told: whether it is chosen only where a vet's step holds, or by hand.
        like: the order that it varies, "" for none.
        gallop: number of the gallop that it fills, None for none.
        source: who says so.
        comes_to: what exercises come to in this yard.
    """

    name: str
    title: str
    exercise: str
    effort: int
    furlongs: float | None
    rise: float
    surface: str
    fast: bool
    rest: bool
    lesson: bool
    ridden: bool
    upsides: bool
    told: bool
    like: str
    gallop: int | None
    source: str
    comes_to: Usual

    def twin(self, other: "Order") -> bool:
        """Return whether one of two orders is the other upsides."""
        return self.upsides != other.upsides and (self.like == other.name or other.like == self.name)

    @cached_property
    def segments(self) -> tuple[Segment, ...]:
        """Parts in their order, the part at pace as far as is ordered."""
        found = []
        for part in self.comes_to.exercises[self.exercise].parts:
            metres = self.furlongs * FURLONG_M if part.at_pace and self.furlongs is not None else part.metres
            rise, surface = (metres * self.rise / 100.0, self.surface) if part.at_pace else (0.0, "")
            found.append(Segment(metres, part.speed_ms, rise, surface))
        return tuple(found)

    @cached_property
    def profile(self) -> Floats:
        """Metres at each step of speed, (COUNT,), as this yard's outings of that exercise have it."""
        return self.over(None if self.furlongs is None else self.furlongs * FURLONG_M)

    def over(self, metres: float | None) -> Floats:
        """Return the profile with another distance at pace, (COUNT,)."""
        return self.comes_to.outing(self.exercise, metres)

    @cached_property
    def fast_f(self) -> float:
        """Furlongs of fast work; a race is not counted as work."""
        return self._furlongs(at_pace=True) if self.fast and self.exercise != "race" else 0.0

    @cached_property
    def canter_f(self) -> float:
        """Furlongs at the canter, those on the way to fast work too; a race has none."""
        if self.exercise == "race":
            return 0.0
        return self._furlongs(at_pace=False) + (0.0 if self.fast else self._furlongs(at_pace=True))

    def _furlongs(self, *, at_pace: bool) -> float:
        parts = zip(self.segments, self.comes_to.exercises[self.exercise].parts, strict=True)
        return sum(s.metres for s, part in parts if part.at_pace is at_pace and s.speed_ms >= CANTERS_MS) / FURLONG_M


Orders = Mapping[str, Order]


def above(profile: Floats, speed_ms: float) -> float:
    """Return the metres of a (COUNT,) profile from a speed on, taken at the nearest step."""
    return float(profile[round(speed_ms / STEP_MS) :].sum())
