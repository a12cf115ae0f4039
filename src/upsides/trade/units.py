"""Exact units of length and mass, by their international definitions.

Each unit stands twice: as an exact `Fraction` (metres or kilograms) for values, and as a float with the SI
unit in its name for arrays. Racing's own rounder equivalents live in `convention`, never here.

Source: international yard and pound agreement, as set out in `racing-standards.md` section 3.
"""

from fractions import Fraction
from typing import Final

INCH: Final = Fraction(254, 10_000)
HAND: Final = 4 * INCH
YARD: Final = 36 * INCH
FURLONG: Final = 220 * YARD
MILE: Final = 8 * FURLONG
POUND: Final = Fraction(45_359_237, 100_000_000)
STONE: Final = 14 * POUND

INCH_M: Final = float(INCH)
HAND_M: Final = float(HAND)
YARD_M: Final = float(YARD)
FURLONG_M: Final = float(FURLONG)
MILE_M: Final = float(MILE)
POUND_KG: Final = float(POUND)
STONE_KG: Final = float(STONE)
