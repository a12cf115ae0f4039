"""Who was in front, and by how much, whoever measured it."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final, Literal

from upsides.trade.convention import AGREED_LENGTH_JAPAN

LENGTH_M: Final = float(AGREED_LENGTH_JAPAN.value)
"""Metres of a length: the agreed 2.4 m. Britain's 8 to 9 feet are 2.44 to 2.74 m, so lengths here may be a tenth
too many there."""


Led = Literal["first", "second", "turns", ""]
"""Who led: one of the two, each for a while, or nobody that could be told."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """How one horse stood to another at a place.

    Attributes:
        ahead_m: by how much the first was in front, m; below nought it was behind.
        sd_m: standard deviation of that.
        source: "tracker", or "thumb" on a stopwatch.
    """

    ahead_m: float
    sd_m: float
    source: Literal["tracker", "thumb"]

    @property
    def lengths(self) -> float:
        """The same in lengths."""
        return self.ahead_m / LENGTH_M

    @property
    def sd_lengths(self) -> float:
        """Its standard deviation; a length is taken as known."""
        return self.sd_m / LENGTH_M

    @property
    def front(self) -> Literal["first", "second", ""]:
        """Which was in front; "" where it is too close to tell: nearer than one standard deviation."""
        if abs(self.ahead_m) < self.sd_m:
            return ""
        return "first" if self.ahead_m > 0 else "second"

    @property
    def other_way(self) -> "Outcome":
        """How the second stood to the first."""
        return Outcome(-self.ahead_m, self.sd_m, self.source)


def led(marks: Iterable[Outcome]) -> Led:
    """Return who led at the marks of a work, those left out at which it was too close to tell."""
    fronts = {one.front for one in marks} - {""}
    if len(fronts) > 1:
        return "turns"
    return next(iter(fronts), "")
