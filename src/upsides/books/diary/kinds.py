"""The kinds of entries. A new kind is a class here and its name in `KINDS`."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Self

from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from upsides.books.diary.gene import GeneTest
from upsides.books.diary.kind import Field, Kind, Span
from upsides.books.diary.shape import Shape
from upsides.errors import EntryRefusedError, KindUnknownError, UnreadableError
from upsides.trade.reading import NUMBER, number, tidy

_DEGREES: Final = re.compile(rf"({NUMBER}) ?(?:°|degrees?)? ?(c|f|celsius|fahrenheit)?")
_NO_TEXT: Final = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff]")


@dataclass(frozen=True, slots=True)
class LookedAt(Kind):
    """Somebody looked at the horse. Nothing was measured, so nothing is kept but who and when."""

    name = "looked_at"
    title = gettext_lazy("Looked at")

    @classmethod
    def parse(cls, values: Mapping[str, object]) -> Self:
        """Read no values."""
        _only(cls, values)
        return cls()

    def words(self) -> str:
        """Return the entry as a sentence."""
        return _("Looked at.")


@dataclass(frozen=True, slots=True)
class Temperature(Kind):
    """A temperature.

    Args:
        celsius: in degrees Celsius, to a hundredth, so that tenths of Fahrenheit come back as typed.
    """

    celsius: float

    name = "temperature"
    title = gettext_lazy("Temperature")
    fields = (
        Field(
            "celsius",
            gettext_lazy("Temperature"),
            gettext_lazy("38.0 or 100.4 F"),
            spans=(Span(35.0, 43.0, "°C"), Span(95.0, 109.4, "°F")),
        ),
    )

    @classmethod
    def parse(cls, values: Mapping[str, object]) -> Self:
        """Read a temperature as people write it: 38.0, 38,0, 100.4 or 100.4 F; the unit follows from the number.

        What a living horse cannot have is refused: below 35 or above 43 °C (common practice, no source).
        """
        typed = str(_only(cls, values).get("celsius", "")).strip()
        celsius, fahrenheit = cls.fields[0].spans
        degrees, unit = _degrees(typed)
        if celsius.low <= degrees <= celsius.high and unit != "f":
            return cls(round(degrees, 2))
        if fahrenheit.low <= degrees <= fahrenheit.high and unit != "c":
            return cls(round((degrees - 32) / 1.8, 2))
        reason = "a horse's temperature lies between 35 and 43 °C, which is 95 to 109.4 °F"
        raise EntryRefusedError("temperature", typed, reason, "measure again")

    def words(self) -> str:
        """Return the temperature in both units."""
        both = {"celsius": _tenths(self.celsius), "fahrenheit": _tenths(self.celsius * 1.8 + 32)}
        return _("Temperature %(celsius)s °C (%(fahrenheit)s °F).") % both

    def typed(self) -> dict[str, str]:
        """Return the temperature in Celsius."""
        return {"celsius": _tenths(self.celsius)}


@dataclass(frozen=True, slots=True)
class Note(Kind):
    """Something in words.

    Args:
        text: 1 to 2000 characters.
    """

    text: str

    name = "note"
    title = gettext_lazy("Note")
    fields = (Field("text", gettext_lazy("What you saw"), longest=2000),)

    @classmethod
    def parse(cls, values: Mapping[str, object]) -> Self:
        """Read a text, spaces around it left out."""
        text = _only(cls, values).get("text", "")
        longest = cls.fields[0].longest
        if not isinstance(text, str) or _NO_TEXT.search(text):
            raise EntryRefusedError("note", str(text)[:40], "it holds signs that are no text", "type it again")
        text = text.replace("\r\n", "\n").strip()
        if not text:
            raise EntryRefusedError("note", "", "it is empty", "write what you saw")
        if len(text) > longest:
            reason = f"it has {len(text)} characters, and {longest} is the most"
            raise EntryRefusedError("note", f"{text[:40]}…", reason, "write it as two notes")
        return cls(text)

    def words(self) -> str:
        """Return the text."""
        return self.text


KINDS: Final[dict[str, type[Kind]]] = {kind.name: kind for kind in (LookedAt, Temperature, Note, Shape, GeneTest)}
"""The kinds by name, in the order in which pages offer them."""


def kind_of(name: str) -> type[Kind]:
    """Return a kind by its name.

    Raises:
        KindUnknownError: there is none.
    """
    if name not in KINDS:
        raise KindUnknownError(name, list(KINDS))
    return KINDS[name]


def read(name: str, values: Mapping[str, object]) -> Kind:
    """Return an entry's values, read by its kind.

    Raises:
        KindUnknownError: there is no such kind.
        EntryRefusedError: a value cannot be right.
    """
    return kind_of(name).parse(values)


def _only(kind: type[Kind], values: Mapping[str, object]) -> Mapping[str, object]:
    """Return the values, all of which the kind knows."""
    for name in values.keys() - {field.name for field in kind.fields}:
        reason = f"an entry of the kind {kind.name} holds no such value"
        raise EntryRefusedError(str(name)[:40], str(values[name])[:40], reason, "leave it out")
    return values


def _degrees(typed: str) -> tuple[float, str]:
    """Return the number that was typed, and the first letter of its unit, if any."""
    try:
        found = _DEGREES.fullmatch(tidy(typed))
        value = number(found[1]) if found else None
    except UnreadableError:
        found, value = None, None
    if found is None or value is None:
        raise EntryRefusedError("temperature", typed[:40], "it cannot be read", "write it like 38.0 or 100.4 F")
    return float(value), (found[2] or "")[:1]


def _tenths(value: float) -> str:
    return number_format(round(value, 1), decimal_pos=1)
