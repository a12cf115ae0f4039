"""Pace: speed in metres a second and seconds a furlong, both ways, for single values and for arrays.

Larger means faster when paces are compared. Seconds a furlong are for the exact furlong of 201.168 m; the
seconds for 200 m that metric countries publish have their own functions.
"""

import re
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final, Literal, Self, TypeVar

import numpy as np
from numpy.typing import NDArray

from upsides.errors import UnreadableError
from upsides.errors.wording import gettext as _
from upsides.trade.distance import Distance
from upsides.trade.racetime import RaceTime
from upsides.trade.reading import NUMBER, exact, number, positive, tidy, written
from upsides.trade.units import FURLONG, FURLONG_M, MILE

PaceUnit = Literal["s/f", "s/200m", "m/s", "km/h", "mph"]
Speeds = TypeVar("Speeds", float, NDArray[np.float64])

_SLOWNESS: Final[dict[str, Fraction]] = {"s/f": FURLONG, "s/200m": Fraction(200)}
_SPEED: Final[dict[str, Fraction]] = {"m/s": Fraction(1), "km/h": Fraction(5, 18), "mph": MILE / 3600}
_UNITS: Final[dict[PaceUnit, str]] = {
    "s/f": r"s(?:ecs?|econds?)?(?: ?/ ?|(?: an?| per)? )(?:f|fur|furlong)",
    "s/200m": r"s(?:ecs?|econds?)?(?: ?/ ?|(?: per| pour)? )200 ?m",
    "m/s": r"m ?/ ?s|mps|m s-1",
    "km/h": r"km ?/ ?h|kmh|kph|km/hr",
    "mph": r"mph|m\.p\.h\.|miles an hour",
}
_FORMS: Final[dict[PaceUnit, re.Pattern[str]]] = {
    unit: re.compile(rf"({NUMBER}) ?(?:{words})") for unit, words in _UNITS.items()
}
_TWO_MINUTE_LICK: Final = frozenset({"two-minute lick", "two minute lick", "2-minute lick", "2 minute lick"})


@dataclass(frozen=True, slots=True, order=True)
class Pace:
    """A pace above standing still, exact, compared by its speed alone.

    Attributes:
        speed: metres a second, exact.
        unit: how `str` writes it.
    """

    speed: Fraction
    unit: PaceUnit = field(default="m/s", compare=False)

    def __post_init__(self) -> None:
        positive("pace", self.speed)

    @classmethod
    def of(cls, amount: float | Fraction, unit: PaceUnit) -> Self:
        """Return the pace of `amount` in `unit`."""
        value = positive("pace", exact(amount))
        return cls(_SLOWNESS[unit] / value if unit in _SLOWNESS else value * _SPEED[unit], unit)

    @classmethod
    def over(cls, distance: Distance, time: RaceTime) -> Self:
        """Return the mean pace of a distance covered in a time."""
        return cls(distance.length / time.seconds)

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read a pace: 15 s/f, 12.5 sec a furlong, 14.3 s/200m, 16.8 m/s, 60.9 km/h, 37.8 mph.

        Raises:
            UnreadableError: the text writes no pace.
        """
        plain = tidy(text)
        if plain in _TWO_MINUTE_LICK:
            return cls(MILE / 120, "s/f")
        for unit, form in _FORMS.items():
            if (match := form.fullmatch(plain)) and (amount := number(match[1])) is not None:
                return cls.of(amount, unit)
        raise UnreadableError(_("pace"), text, _("15 s/f, 14.3 s/200m, 16.8 m/s, 60.9 km/h or 37.8 mph"))

    def amount(self, unit: PaceUnit) -> Fraction:
        """Return the pace in `unit`, exact."""
        return _SLOWNESS[unit] / self.speed if unit in _SLOWNESS else self.speed / _SPEED[unit]

    def __str__(self) -> str:
        """Return the pace exactly, in the unit that it was written in; `parse` reads it back."""
        return f"{written(self.amount(self.unit))} {self.unit}"

    def text(self, unit: PaceUnit = "s/f", places: int = 1) -> str:
        """Write the pace in `unit`, rounded to `places` decimals."""
        return f"{float(self.amount(unit)):.{places}f} {unit}"


def seconds_a_furlong(speed_m_s: Speeds) -> Speeds:
    """Return seconds for 201.168 m at `speed_m_s` metres a second; any shape."""
    return FURLONG_M / speed_m_s


def speed_at_seconds_a_furlong(seconds: Speeds) -> Speeds:
    """Return metres a second of a furlong of 201.168 m in `seconds`; any shape."""
    return FURLONG_M / seconds


def seconds_a_200_m(speed_m_s: Speeds) -> Speeds:
    """Return seconds for 200 m at `speed_m_s` metres a second; any shape."""
    return 200.0 / speed_m_s


def speed_at_seconds_a_200_m(seconds: Speeds) -> Speeds:
    """Return metres a second of 200 m in `seconds`; any shape."""
    return 200.0 / seconds
