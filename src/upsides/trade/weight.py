"""Weights carried and body masses: 9-7, 9st 7lb, 126, 126 lb, 57.5 kg, 57,5 kg.

A bare number is read by its size unless the caller gives the unit: 40 to 80 is kilograms and 90 to 250 is
pounds, because weights carried in either unit fall well inside these ranges (common practice, no source).
Anything else bare is refused.
"""

import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final, Literal, Self

from upsides.errors import UnreadableError
from upsides.errors.wording import gettext as _
from upsides.trade.reading import (
    GROUPED,
    MISSING,
    NUMBER,
    Parsed,
    exact,
    fixed,
    number,
    positive,
    read_column,
    tidy,
    vulgar,
    written,
)
from upsides.trade.units import POUND

WeightUnit = Literal["st", "lb", "kg"]
WeightStyle = Literal["british", "british words", "american", "hong kong", "metric", "french"]

EXPECTED: Final = _("9-7, 9st 7lb, 126 lb, 57.5 kg or 57,5 kg")
_STONES: Final = re.compile(
    rf"(?!\d+-\d+/)(\d{{1,3}}) ?(?:-(?= ?\d)|st(?:ones?)?\.? ?-?) ?({NUMBER})? ?(?:lbs?\.?|pounds?)?"
)
_UNITED: Final = re.compile(rf"({GROUPED}|{NUMBER}) ?(?:(lbs?\.?|pounds?)|(?:kgs?\.?|kilos?|k|公斤))")
_BARE: Final = re.compile(NUMBER)
_KILOGRAMS: Final = (40, 80)
_POUNDS: Final = (90, 250)


@dataclass(frozen=True, slots=True, order=True)
class Weight:
    """A weight above zero, exact, compared by its mass alone.

    Attributes:
        mass: kilograms, exact by the international pound; for racing's agreed half kilogram see `convention`.
        unit: how `str` writes it; equal masses are equal however written.
    """

    mass: Fraction
    unit: WeightUnit = field(default="kg", compare=False)

    def __post_init__(self) -> None:
        positive("weight", self.mass)

    @classmethod
    def from_pounds(cls, pounds: float | Fraction) -> Self:
        """Return a weight of `pounds`."""
        return cls(exact(pounds) * POUND, "lb")

    @classmethod
    def from_stones(cls, stones: int, pounds: float | Fraction = 0) -> Self:
        """Return a weight of `stones` and `pounds`, written as 9-7."""
        return cls((14 * stones + exact(pounds)) * POUND, "st")

    @classmethod
    def from_kilograms(cls, kilograms: float | Fraction) -> Self:
        """Return a weight of `kilograms`."""
        return cls(exact(kilograms), "kg")

    @classmethod
    def parse(cls, text: str, unit: Literal["lb", "kg"] | None = None) -> Self:
        """Read a weight.

        Args:
            text: as the trade writes it; see the module for the rule on bare numbers.
            unit: the unit of a bare number, where the caller knows it.

        Raises:
            UnreadableError: the text writes no weight, has 14 lb or more after stones, or is bare and of
                doubtful size.
        """
        plain = tidy(text)
        if match := _UNITED.fullmatch(plain):
            amount = number(re.sub("[, ]", "", match[1]) if re.fullmatch(GROUPED, match[1]) else match[1])
            return cls._of(text, amount, "lb" if match[2] else "kg")
        if match := _STONES.fullmatch(plain):
            pounds = number(match[2] or "0")
            if pounds is None or pounds >= 14:
                raise UnreadableError(_("weight"), text, _("9-7 (pounds after stones run from 0 to 13)"))
            return cls.from_stones(int(match[1]), pounds)
        if _BARE.fullmatch(plain):
            amount = number(plain)
            return cls._of(text, amount, unit or _unit_by_size(text, amount))
        raise UnreadableError(_("weight"), text, EXPECTED)

    @classmethod
    def _of(cls, text: str, amount: Fraction | None, unit: Literal["lb", "kg"]) -> Self:
        if amount is None:
            raise UnreadableError(_("weight"), text, EXPECTED)
        return cls.from_pounds(amount) if unit == "lb" else cls.from_kilograms(amount)

    @property
    def pounds(self) -> float:
        """Mass in international pounds."""
        return float(self.mass / POUND)

    @property
    def kilograms(self) -> float:
        """Mass in kilograms."""
        return float(self.mass)

    def __str__(self) -> str:
        """Return the weight exactly, in the unit that it was written in; `parse` reads it back."""
        if self.unit == "kg":
            return f"{written(self.mass)} kg"
        if self.unit == "lb":
            return f"{written(self.mass / POUND)} lb"
        stones, pounds = divmod(self.mass / POUND, 14)
        shown = written(pounds)
        return f"{stones}st {shown}lb" if "/" in shown else f"{stones}-{shown}"

    def text(self, style: WeightStyle = "british") -> str:
        """Write the weight in a country's style, rounded to the half pound or half kilogram that it prints.

        Args:
            style: "british" 9-7, "british words" 9st 7lb, "american" and "hong kong" 133, "metric" 60.5 kg,
                "french" 60,5 kg.
        """
        if style in {"metric", "french"}:
            kilograms = f"{_halves_kilogram(self.mass)} kg"
            return kilograms.replace(".", ",") if style == "french" else kilograms
        pounds = Fraction(round(self.mass / POUND * 2), 2)
        if style in {"american", "hong kong"}:
            return written(pounds)
        stones, rest = divmod(pounds, 14)
        shown = vulgar(rest)
        return f"{stones}-{shown}" if style == "british" else f"{stones}st {shown}lb"


def _halves_kilogram(mass: Fraction) -> str:
    return fixed(Fraction(round(mass * 2), 2), 1).removesuffix(".0")


def _unit_by_size(text: str, amount: Fraction | None) -> Literal["lb", "kg"]:
    if amount is not None and _KILOGRAMS[0] <= amount <= _KILOGRAMS[1]:
        return "kg"
    if amount is not None and _POUNDS[0] <= amount <= _POUNDS[1]:
        return "lb"
    raise UnreadableError(_("weight"), text, _("9-7, 126 lb or 57.5 kg (a bare number of this size needs its unit)"))


def parse_weights(
    texts: Iterable[str | None], unit: Literal["lb", "kg"] | None = None, missing: Collection[str] = MISSING
) -> Parsed:
    """Read a column of weights, each distinct text once.

    Args:
        texts: n cells; None, empty and `missing` cells mean "not recorded".
        unit: the unit of bare numbers; without it their size decides.
        missing: tidied texts that mean "not recorded".

    Returns:
        Pounds, float64 of shape (n,), NaN where not recorded or unreadable; and the mask of the unreadable
        ones.
    """
    return read_column(texts, lambda text: Weight.parse(text, unit).pounds, missing)
