"""A number for each part of a plan: its price, how much of it there is, or what that comes to."""

from dataclasses import Field, fields
from typing import Any, ClassVar, Self


class Summed:
    """A frozen dataclass of numbers by part."""

    __slots__ = ()
    __dataclass_fields__: ClassVar[dict[str, Field[Any]]]

    def times(self, prices: Self) -> Self:
        """Return what these amounts come to at some prices."""
        return type(self)(**{one.name: getattr(self, one.name) * getattr(prices, one.name) for one in fields(self)})

    @property
    def total(self) -> float:
        """Sum of all parts."""
        return float(sum(getattr(self, one.name) for one in fields(self)))
