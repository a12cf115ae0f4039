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
    """

    name: str
    unit: str
    side: Side
    grain: float
    places: int = 1
    grows: bool = False
    growth: float = 0.0
    tracked: bool = False


MASS_GROWTH: Final = 30.0 / 730.0
"""Kilograms a day: about 30 kg over a career, mostly before five (body_mass of racing horses in Japan), laid on a rate
that stands until three and is gone at five."""

KINDS: Final[tuple[Kind, ...]] = (
    Kind("mass", "kg", "both", 1.0, 0, grows=True, growth=MASS_GROWTH),
    Kind("temperature", "°C", "up", 0.1, 1),
    Kind("resting pulse", "a minute", "up", 1.5, 0),
    Kind("recovery", "a minute", "up", 2.0, 0, tracked=True),
    Kind("feed left", "of the feed", "up", 0.08, 2),
    Kind("speed", "m/s", "down", 0.05, 2, tracked=True),
    Kind("heart at work", "a minute", "up", 1.5, 0, tracked=True),
    Kind("stride length", "m", "down", 0.03, 2, tracked=True),
    Kind("evenness of trot", "", "down", 0.01, 2, tracked=True),
)
"""What a yard usually has. The grain of evenness is the least error that a recording's own may have
(`upsides.recordings.bouts.evenness.LEAST_SD`). A reading's kind is its place in a tuple like this one."""

SIDES: Final[dict[Side, int]] = {"both": 0, "up": 1, "down": -1}
