"""How a horse was ridden in a work, and what it may have had in reserve.

Nobody measures a reserve. What is said of it are words: what was ordered, and how much was left at the end. Here a
reserve is a gamma variable of shape 2, never below nought, with a mean by both words, in pounds as our figures have
them. The means are assumptions (common practice, no source), and as nobody knows what a yard means by its words, all of
them are wrong by one factor, log-normal with a standard deviation of a doubling.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import isnan, log, nan
from types import MappingProxyType
from typing import Self

from upsides.errors import WorkWordError
from upsides.recordings.work import Work
from upsides.trade.units import POUND_KG

LEFT_LB: Mapping[str, float] = MappingProxyType(
    {"nothing": 2.0, "little": 5.0, "some": 10.0, "plenty": 20.0, "hard_held": 40.0, "": 15.0}
)
"""Mean reserve by how much was left, of a horse that was let down, lb; common practice, no source. "" where nobody
said."""

ASKED: Mapping[str, float] = MappingProxyType(
    {
        "easy": 5.0,
        "steady": 4.0,
        "half_speed": 3.0,
        "three_quarter": 2.0,
        "bridle": 1.5,
        "let_down": 1.0,
        "asked": 1.0,
        "": 2.0,
    }
)
"""The same words mean so many times as much where so much was ordered: at half-speed a horse with a little left has
more left than at full stretch. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Reading:
    """How works are read: assumptions that a yard may set.

    Attributes:
        left_lb: mean reserve by how much was left, lb.
        asked: by how much that is multiplied by what was ordered.
        words_log_sd: standard deviation of the logarithm of the factor by which all means are wrong.
        day_lb: standard deviation of how one horse goes on one day, lb; in races an honest run stands 4 to 7 lb from
            its horse's level (docs/figures.md), and works are looser; own choice.
        rider_kg: usual weight of a rider with tack, and its standard deviation where it was not said; common practice,
            no source.
        pound: pounds of margin that a pound carried is worth; the trade's convention is 1.
        worth_share: the worth of a length is wrong by so much of itself, one standard deviation: it was laid down for
            races; own choice.
    """

    left_lb: Mapping[str, float] = field(default_factory=lambda: LEFT_LB)
    asked: Mapping[str, float] = field(default_factory=lambda: ASKED)
    words_log_sd: float = log(2.0)
    day_lb: float = 8.0
    rider_kg: tuple[float, float] = (63.0, 5.0)
    pound: float = 1.0
    worth_share: float = 0.3


USUAL = Reading()


@dataclass(frozen=True, slots=True)
class Ridden:
    """How one horse was ridden in a work.

    Attributes:
        left: how much was left, a word of the diary (`LEFT_LB`).
        instruction: what was ordered, a word of the diary (`ASKED`).
        carried_kg: weight of the rider with tack; NaN where nobody said.

    Raises:
        WorkWordError: a word is none of those.
    """

    left: str = ""
    instruction: str = ""
    carried_kg: float = nan

    def __post_init__(self) -> None:
        for what, word, known in (("left", self.left, LEFT_LB), ("ordered", self.instruction, ASKED)):
            if word not in known:
                raise WorkWordError(what, word, [one for one in known if one])

    @classmethod
    def of(cls, work: Work) -> Self:
        """Return how a horse was ridden in a work of the books."""
        return cls(work.left, work.instruction, work.rider_kg)

    def reserve_lb(self, reading: Reading) -> float:
        """Return the mean of what it may have had in reserve, lb."""
        return reading.left_lb[self.left] * reading.asked[self.instruction]

    def above_lb(self, reading: Reading) -> tuple[float, float]:
        """Return what it carried above the usual rider, in pounds of margin, and the variance of that."""
        usual, sd = reading.rider_kg
        if isnan(self.carried_kg):
            return 0.0, (reading.pound * sd / POUND_KG) ** 2
        return reading.pound * (self.carried_kg - usual) / POUND_KG, 0.0
