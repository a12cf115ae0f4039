"""Weights and money as race conditions state them, with unit or currency, compared only where that is meant."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

from upsides.errors import CurrencyUnknownError
from upsides.trade.convention import AGREED_POUND
from upsides.trade.weight import Weight

Unit = Literal["lb", "kg"]
Rates = Mapping[tuple[str, str], float]
"""What one unit of the first currency is in the second: {("EUR", "GBP"): 0.85}. The reverse is worked out."""

NO_RATES: Final[Rates] = {}
GUINEA: Final = "guineas"
GUINEA_IN_POUNDS: Final = 1.05
"""One pound and one shilling, exactly."""
_AGREED: Final = float(AGREED_POUND.value)


@dataclass(frozen=True, slots=True)
class Amount:
    """A weight in conditions, or a difference of weights.

    Attributes:
        value: how much, in `unit`.
        unit: "lb" or "kg".
    """

    value: float
    unit: Unit = "lb"

    def in_unit(self, unit: Unit) -> float:
        """Return the amount in another unit, as racing agreed that 1 lb counts as 0.5 kg (trade/convention)."""
        if unit == self.unit:
            return self.value
        return self.value * _AGREED if unit == "kg" else self.value / _AGREED

    def __str__(self) -> str:
        if self.unit == "lb" and self.value >= 84 and self.value == int(self.value):
            return Weight.from_stones(*divmod(int(self.value), 14)).text("british")
        return f"{self.value:g} {self.unit}"


@dataclass(frozen=True, slots=True)
class Money:
    """A sum of money; `currency` is an ISO 4217 code, or "guineas"."""

    amount: float
    currency: str

    def known_in(self, currency: str, rates: Rates = NO_RATES) -> float | None:
        """Return the sum in another currency, or None where no rate is given."""
        if currency == self.currency:
            return self.amount
        if GUINEA in {self.currency, currency}:
            pounds = self.amount * GUINEA_IN_POUNDS if self.currency == GUINEA else None
            if pounds is not None:
                return Money(pounds, "GBP").known_in(currency, rates)
            there = self.known_in("GBP", rates)
            return None if there is None else there / GUINEA_IN_POUNDS
        if rate := rates.get((self.currency, currency)):
            return self.amount * rate
        if rate := rates.get((currency, self.currency)):
            return self.amount / rate
        return None

    def told_in(self, currency: str, rates: Rates = NO_RATES) -> float:
        """Return the sum in another currency.

        Raises:
            CurrencyUnknownError: no rate is given.
        """
        found = self.known_in(currency, rates)
        if found is None:
            raise CurrencyUnknownError(str(self), currency)
        return found

    def __str__(self) -> str:
        return f"{self.amount:,.2f} {self.currency}".replace(".00 ", " ")
