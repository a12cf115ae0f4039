"""Race distances: 5f 217y, 1m2½f, 1 1/16 miles, 6 1/2f, about 7f, 1200m, 2 400 m, 2,002 m.

The letter m alone means miles below 10 and metres from 100 on; between them it is refused, and so is a figure
such as "2.400 m", which could be either. With furlongs or yards behind it, m is always miles. Words (mile,
metres, km) are always taken at their word. A bare number is read only where the caller says its unit.
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
    mixed,
    number,
    positive,
    read_column,
    tidy,
    vulgar,
    written,
)
from upsides.trade.units import FURLONG, MILE, YARD

Notation = Literal["yards", "halves", "fractions", "metres"]
"""How a distance was written: 5f 217y, 1m 2½f, 1 1/16 miles, 1200m."""
Style = Literal["british", "halves", "about", "american", "metric", "french"]
Unit = Literal["metres", "kilometres", "yards", "furlongs", "miles"]

UNITS: Final[dict[str, Fraction]] = {
    "metres": Fraction(1),
    "kilometres": Fraction(1000),
    "yards": YARD,
    "furlongs": FURLONG,
    "miles": MILE,
}
EXPECTED: Final = _("5f 217y, 1m2½f, 1 1/16 miles, 1200m or 2 400 m")
_ABOUT: Final = r"(?P<about>(?:about|abt\.?|env\.?|environ|c\.?|約) ?)?"
_METRES: Final = rf"m|metres?|meters?|mts?|mtr|{tidy('メートル')}|km|kilometres?|kilometers?"
_METRIC: Final = re.compile(rf"{_ABOUT}(?P<amount>{GROUPED}|{NUMBER}) ?(?P<unit>{_METRES})")
_AND: Final = r"(?:,| and| &)? ?"
_IMPERIAL: Final = re.compile(
    rf"{_ABOUT}(?:(?P<miles>{NUMBER}) ?-?(?:miles?|mi|m))?{_AND}"
    rf"(?:(?P<furlongs>{NUMBER}) ?(?:furlongs?|furs?|f))?{_AND}"
    rf"(?:(?P<yards>{GROUPED}|{NUMBER}) ?(?:yards?|yds?|y))?"
)
_GROUPED: Final = re.compile(GROUPED)
_THREE_DECIMALS: Final = re.compile(r"\d{1,3}\.\d{3}")


def _amount(text: str | None) -> Fraction:
    if text is None:
        return Fraction(0)
    return _read(re.sub("[, ]", "", text) if _GROUPED.fullmatch(text) else text)


def _read(text: str) -> Fraction:
    found = number(text)
    if found is None:
        raise UnreadableError(_("distance"), text, EXPECTED)
    return found


@dataclass(frozen=True, slots=True, order=True)
class Distance:
    """A distance above zero, exact, compared by its length alone.

    Attributes:
        length: metres, exact.
        notation: how `str` writes it; equal lengths are equal however written.
        about: the trade wrote "about"; the true length differs a little from the one written.
    """

    length: Fraction
    notation: Notation = field(default="metres", compare=False)
    about: bool = field(default=False, compare=False)

    def __post_init__(self) -> None:
        positive("distance", self.length)

    @classmethod
    def from_metres(cls, metres: float | Fraction) -> Self:
        """Return a distance of `metres`, written the metric way."""
        return cls(exact(metres), "metres")

    @classmethod
    def from_yards(cls, yards: float | Fraction) -> Self:
        """Return a distance of `yards`, written in miles, furlongs and yards."""
        return cls(exact(yards) * YARD, "yards")

    @classmethod
    def from_furlongs(cls, furlongs: float | Fraction) -> Self:
        """Return a distance of `furlongs`, written with half furlongs."""
        return cls(exact(furlongs) * FURLONG, "halves")

    @classmethod
    def from_miles(cls, miles: float | Fraction) -> Self:
        """Return a distance of `miles`, written in fractions of a mile."""
        return cls(exact(miles) * MILE, "fractions")

    @classmethod
    def parse(cls, text: str, unit: Unit | None = None) -> Self:
        """Read a distance.

        Args:
            text: as the trade writes it; see the module for the rule on the letter m.
            unit: the unit of a bare number; without it a bare number is refused.

        Raises:
            UnreadableError: the text writes no distance, or could be miles as well as metres.
        """
        plain = tidy(text)
        if unit is not None and re.fullmatch(f"{GROUPED}|{NUMBER}", plain):
            notation: Notation = "yards" if unit in {"yards", "furlongs", "miles"} else "metres"
            return cls(_amount(plain) * UNITS[unit], notation)
        for read in (cls._metric, cls._imperial):
            if found := read(plain):
                return found
        raise UnreadableError(_("distance"), text, EXPECTED)

    @classmethod
    def _metric(cls, plain: str) -> Self | None:
        match = _METRIC.fullmatch(plain)
        if match is None:
            return None
        unit = match["unit"]
        if unit.startswith("k"):
            return cls(1000 * _read(match["amount"]), "metres", bool(match["about"]))
        if _THREE_DECIMALS.fullmatch(match["amount"]):
            raise UnreadableError(_("distance"), plain, _("2400m or 2 400 m (a point is a decimal point)"))
        amount = _amount(match["amount"])
        if unit == "m" and amount < 10:
            return None
        if unit == "m" and amount < 100:
            raise UnreadableError(_("distance"), plain, _("{amount} metres or {amount} miles", amount=match["amount"]))
        return cls(amount, "metres", bool(match["about"]))

    @classmethod
    def _imperial(cls, plain: str) -> Self | None:
        match = _IMPERIAL.fullmatch(plain)
        if match is None or not any(match[part] for part in ("miles", "furlongs", "yards")):
            return None
        miles, furlongs, yards = (_amount(match[part]) for part in ("miles", "furlongs", "yards"))
        notation: Notation = "yards"
        if miles.denominator > 1 and not furlongs and not yards:
            notation = "fractions"
        elif furlongs.denominator > 1 and not yards:
            notation = "halves"
        return cls(miles * MILE + furlongs * FURLONG + yards * YARD, notation, bool(match["about"]))

    @property
    def metres(self) -> float:
        """Length in metres."""
        return float(self.length)

    @property
    def yards(self) -> float:
        """Length in yards."""
        return float(self.length / YARD)

    @property
    def furlongs(self) -> float:
        """Length in furlongs of 220 yards."""
        return float(self.length / FURLONG)

    def __str__(self) -> str:
        """Return the distance exactly, in the notation that it was written in; `parse` reads it back."""
        exactly = {"yards": _in_yards, "halves": _in_halves, "fractions": _in_miles, "metres": _in_metres}
        return ("about " if self.about else "") + exactly[self.notation](self.length)

    def text(self, style: Style = "british") -> str:
        """Write the distance in a country's style.

        Args:
            style: "british" 1m 1f 209y and "american" 1 1/8 miles, 1 mile 70 yards (nearest yard), "halves"
                1m2½f (nearest half furlong), "about" (the same, with "about" before it unless exact),
                "metric" 1200m and "french" 1 200 m (nearest metre).
        """
        if style in {"british", "american"}:
            surveyed = max(1, round(self.length / YARD)) * YARD
            return _in_yards(surveyed) if style == "british" else _in_american(surveyed)
        if style in {"metric", "french"}:
            metres = round(self.length)
            return f"{metres}m" if style == "metric" else f"{metres:,} m".replace(",", " ")
        near = max(1, round(self.length / FURLONG * 2)) * FURLONG / 2
        inexact = style == "about" and near != self.length
        return ("about " if inexact else "") + _in_halves(near).replace(" ", "")


def _joined(miles: int, *rest: str) -> str:
    unit = "m" if miles < 10 else " miles"
    return " ".join(part for part in (f"{miles}{unit}" if miles else "", *rest) if part)


def _in_yards(length: Fraction) -> str:
    miles, within = divmod(length, MILE)
    furlongs, left = divmod(within, FURLONG)
    return _joined(miles, f"{furlongs}f" if furlongs else "", f"{written(left / YARD)}y" if left else "")


def _in_halves(length: Fraction) -> str:
    miles, within = divmod(length, MILE)
    furlongs = within / FURLONG
    if furlongs.denominator not in {1, 2, 4, 8}:
        return _in_yards(length)
    return _joined(miles, f"{vulgar(furlongs)}f" if furlongs else "")


def _in_miles(length: Fraction) -> str:
    miles = length / MILE
    return f"{mixed(miles)} {'mile' if miles <= 1 else 'miles'}"


def _in_american(length: Fraction) -> str:
    unit, word = (FURLONG, "furlong") if length < MILE else (MILE, "mile")
    amount = length / unit
    if amount.denominator <= (2 if unit == FURLONG else 16):
        return f"{mixed(amount)} {word}{'s' if amount != 1 else ''}"
    whole, left = divmod(length, unit)
    start = f"{whole} {word}{'s' if whole != 1 else ''} " if whole else ""
    return f"{start}{written(left / YARD)} yards"


def _in_metres(length: Fraction) -> str:
    text = written(length)
    if _THREE_DECIMALS.fullmatch(text):
        text = fixed(length, 4)
    return f"{text}m" if length >= 100 else f"{text} metres"


def parse_distances(
    texts: Iterable[str | None], unit: Unit | None = None, missing: Collection[str] = MISSING
) -> Parsed:
    """Read a column of distances, each distinct text once.

    Args:
        texts: n cells; None, empty and `missing` cells mean "not recorded".
        unit: the unit of bare numbers.
        missing: tidied texts that mean "not recorded".

    Returns:
        Metres, float64 of shape (n,), NaN where not recorded or unreadable; and the mask of the unreadable
        ones.
    """
    return read_column(texts, lambda text: Distance.parse(text, unit).metres, missing)
