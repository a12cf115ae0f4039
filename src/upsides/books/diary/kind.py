"""What a kind of entry has to say of itself."""

from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, ClassVar, Self

from django.utils.functional import Promise


@dataclass(frozen=True, slots=True)
class Span:
    """The numbers that can be meant, both ends included, and the unit that such a number is in.

    Args:
        low: lowest.
        high: highest.
        unit: as it is written behind the number.
    """

    low: float
    high: float
    unit: str


@dataclass(frozen=True, slots=True)
class Field:
    """One value of an entry, as a person types it.

    Args:
        name: its name among the entry's values.
        label: what it is called on a page.
        hint: how it may be typed; empty where nothing need be said.
        longest: most characters.
        spans: for a number, what it can be; a phone without signal checks by them.
    """

    name: str
    label: str | Promise
    hint: str | Promise = ""
    longest: int = 40
    spans: tuple[Span, ...] = ()


class Kind(ABC):
    """A kind of entry: a frozen dataclass whose attributes are the values that are kept.

    `offered` is whether the diary's own form offers it; one that it does not has a page of its own. `judgement` is
    whether it is an opinion, which everybody forms before reading what others entered of the same horse.
    """

    name: ClassVar[str]
    title: ClassVar[str | Promise]
    fields: ClassVar[tuple[Field, ...]] = ()
    offered: ClassVar[bool] = True
    judgement: ClassVar[bool] = False

    @classmethod
    @abstractmethod
    def parse(cls, values: Mapping[str, object]) -> Self:
        """Read values as typed.

        Raises:
            EntryRefusedError: a value cannot be right.
        """

    @classmethod
    def kept_as(cls, values: Mapping[str, Any]) -> Self:
        """Return an entry from what the diary keeps, without judging it anew."""
        return cls(**values)

    @abstractmethod
    def words(self) -> str:
        """Return the entry as a sentence."""

    def outline(self) -> str:
        """Return what of the entry may be read by anybody; of a judgement less than its words."""
        return self.words()

    def typed(self) -> dict[str, str]:
        """Return each value as somebody would type it, for correcting."""
        return {name: str(value) for name, value in self.kept().items()}

    def kept(self) -> dict[str, Any]:
        """Return the values as the diary keeps them."""
        return asdict(self)  # type: ignore[call-overload,no-any-return]  # every kind is a dataclass
