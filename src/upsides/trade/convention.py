"""Equivalents that racing has agreed on although they are not exact.

A `Convention` is deliberately not a number: it cannot be multiplied by accident where a unit was meant.
Either call one of the functions below, whose names say `agreed`, or take `.value` in plain sight.
"""

from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from upsides.trade.reading import exact
from upsides.trade.units import INCH


@dataclass(frozen=True, slots=True)
class Convention:
    """An agreed equivalent: its value and unit, what it says, its source and how well that is verified."""

    value: Fraction
    unit: str
    says: str
    source: str
    confidence: str


AGREED_POUND: Final = Convention(
    Fraction(1, 2),
    "kg",
    "1 lb counts as 0.5 kg and 3 lb as 1.5 kg in race conditions and weight-for-age scales",
    "European Pattern Committee, release on the scale from 2017 (22 Sep 2016)",
    "high",
)
AGREED_FURLONG: Final = Convention(
    Fraction(200),
    "m",
    "1 furlong counts as 200 m in race conditions",
    "International Agreement on Breeding, Racing and Wagering, Article 2: from memory, text not seen",
    "memory",
)
AGREED_LENGTH_JAPAN: Final = Convention(
    Fraction(24, 10),
    "m",
    "one length is about 2.4 m, six lengths about one second",
    "Japanese explainer on margins and seconds",
    "medium",
)
AGREED_LENGTH_BRITAIN: Final = Convention(
    Fraction(17, 2) * 12 * INCH,
    "m",
    "one length is 8 to 9 feet; 8½ feet, the middle of that range, is our choice",
    "British Horseracing Authority, answer quoted in a page of questions",
    "medium",
)
CONVENTIONS: Final = (AGREED_POUND, AGREED_FURLONG, AGREED_LENGTH_JAPAN, AGREED_LENGTH_BRITAIN)


def agreed_kilograms(pounds: float | Fraction) -> Fraction:
    """Return the kilograms that race conditions equate with `pounds` (1 lb is 0.5 kg), not their mass."""
    return exact(pounds) * AGREED_POUND.value


def agreed_pounds(kilograms: float | Fraction) -> Fraction:
    """Return the pounds that race conditions equate with `kilograms` (0.5 kg is 1 lb), not their mass."""
    return exact(kilograms) / AGREED_POUND.value


def agreed_metres(furlongs: float | Fraction) -> Fraction:
    """Return the metres that race conditions equate with `furlongs` (200 m each), not their length."""
    return exact(furlongs) * AGREED_FURLONG.value
