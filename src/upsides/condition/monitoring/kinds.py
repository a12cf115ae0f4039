"""The kinds of reading that are watched, and what is known of each before the yard has spoken."""

from dataclasses import dataclass
from typing import Final, Literal

Side = Literal["both", "up", "down"]


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of reading.

    Attributes:
        name: what it is.
        unit: of its values, as it is written; "" of a share.
        side: which way it must go to be looked at.
        grain: the least standard deviation that a reading can have, in its unit: what rounding and handling alone do.
            Our own choice for each.
        places: decimals that a value is worth.
        grows: whether a young horse's usual moves with age.
        growth: by how much a day it then does until the age of three, before the yard's own have been heard.
        tracked: whether a tracker took it, so that two horses' may have been swapped.
        worth: the least by which a horse has to be off its usual to be told of, in its unit: for less nobody walks to
            a box, however sure it is. Common practice, no source; what a scale or a barn shows is told from the grain.
    """

    name: str
    unit: str
    side: Side
    grain: float
    places: int = 1
    grows: bool = False
    growth: float = 0.0
    tracked: bool = False
    worth: float = 0.0


MASS_GROWTH: Final = 30.0 / 730.0
"""Kilograms a day: about 30 kg over a career, mostly before five (body_mass of racing horses in Japan), laid on a rate
that stands until three and is gone at five."""

KINDS: Final[tuple[Kind, ...]] = (
    Kind("mass", "kg", "both", 1.0, 0, grows=True, growth=MASS_GROWTH, worth=3.0),
    Kind("temperature", "°C", "up", 0.1, 1, worth=0.25),
    Kind("resting pulse", "a minute", "up", 1.5, 0, worth=3.0),
    Kind("recovery", "a minute", "up", 2.0, 0, tracked=True, worth=4.0),
    Kind("feed left", "of the feed", "up", 0.08, 2, worth=0.1),
    Kind("speed", "m/s", "down", 0.05, 2, tracked=True, worth=0.1),
    Kind("heart at work", "a minute", "up", 1.5, 0, tracked=True, worth=3.0),
    Kind("stride length", "m", "down", 0.03, 2, tracked=True, worth=0.05),
    Kind("evenness of trot", "", "down", 0.01, 2, tracked=True, worth=0.02),
)
"""What a yard usually has. The grain of evenness is the least error that a recording's own may have
(`upsides.recordings.bouts.evenness.LEAST_SD`). A reading's kind is its place in a tuple like this one."""

SIDES: Final[dict[Side, int]] = {"both": 0, "up": 1, "down": -1}
