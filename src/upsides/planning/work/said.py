"""What is said of plans: a sentence by its code, with the values that stand in it, so that a page can translate it.

The command says it in English (`ENGLISH`), a page in its reader's language, both by `in_words`.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Final, Self, TypeAlias

from upsides.planning.work.wording import SENTENCES
from upsides.recordings.sentences import Forms

DAYS: Final = frozenset({"day", "last", "on"})
"""Names of values that are days."""
OF_TEXTS: Final = frozenset({"order", "routine", "before", "exercises", "stage", "source", "reason", "remedy"})
"""Names of values that are texts of their own: of the routine's file, or why a value was refused."""
TOGETHER: Final = frozenset({"on", "reasons"})
"""Names of lists that are joined by "and"; others are joined by commas."""
TOLD_FROM_M: Final = 50.0
"""Metres in a band of speed below which nothing is said: so little comes of how outings spread, not of an order."""
AS_WRITTEN: Final = "as_written"
Value: TypeAlias = "str | int | float | date | Said | tuple[Value, ...]"
"""What may stand in a sentence."""


@dataclass(frozen=True, slots=True)
class Said:
    """A sentence, or a part of one.

    Attributes:
        code: which, of `upsides.planning.work.wording`; "as_written" for what an earlier version kept in English.
        values: what stands in it, by name; `count` decides its form.
    """

    code: str
    values: Mapping[str, Value] = field(default_factory=dict, hash=False)

    @property
    def as_written(self) -> bool:
        """Whether it stands in English, as an earlier version kept it."""
        return self.code == AS_WRITTEN

    @property
    def count(self) -> int:
        """The number that decides its form; 0 where none does."""
        count = self.values.get("count", 0)
        return count if isinstance(count, int) else 0

    def as_json(self) -> dict[str, Any]:
        """Return it as it is kept."""
        return {"code": self.code, "values": {name: _kept(value) for name, value in self.values.items()}}

    @classmethod
    def of_json(cls, kept: str | Mapping[str, Any]) -> Self:
        """Return it out of what is kept; earlier versions kept the sentence."""
        if isinstance(kept, str):
            return cls(AS_WRITTEN, {"text": kept})
        return cls(kept["code"], {name: _read(name, value) for name, value in kept["values"].items()})


def _kept(value: Value) -> Any:
    match value:
        case Said():
            return value.as_json()
        case tuple():
            return [_kept(one) for one in value]
        case date():
            return str(value)
    return value


def _read(name: str, kept: Any) -> Value:
    match kept:
        case {"code": _, "values": _}:
            return Said.of_json(kept)
        case list():
            return tuple(_read(name, one) for one in kept)
        case str() if name in DAYS:
            return date.fromisoformat(kept)
        case str() | int() | float():
            return kept
    raise ValueError(kept)


@dataclass(frozen=True, slots=True)
class Tongue:
    """How sentences are said in a language.

    Attributes:
        sentence: one of the forms of a sentence, by a number.
        text: a text that stands in one.
        day, number: these in words.
        together: parts joined by "and".
    """

    sentence: Callable[[Forms, int], str]
    text: Callable[[str], str]
    day: Callable[[date], str]
    number: Callable[[float], str]
    together: Callable[[list[str]], str]


def in_words(said: Said, tongue: Tongue) -> str:
    """Return a sentence in words."""
    if said.as_written:
        return str(said.values["text"])
    form = tongue.sentence(SENTENCES[said.code], said.count)
    return form % {name: _worded(name, value, tongue) for name, value in said.values.items()}


def plain(said: Said) -> str:
    """Return a sentence in English."""
    return in_words(said, ENGLISH)


def _worded(name: str, value: Value, tongue: Tongue) -> str:
    match value:
        case Said():
            return in_words(value, tongue)
        case tuple():
            parts = [_worded(name, one, tongue) for one in value]
            return tongue.together(parts) if name in TOGETHER else ", ".join(parts)
        case date():
            return tongue.day(value)
        case int() | float():
            return tongue.number(value)
    return tongue.text(value) if name in OF_TEXTS else str(value)


def _form(forms: Forms, count: int) -> str:
    return forms[0] if count == 1 else forms[-1]


def _together(parts: list[str]) -> str:
    return " and ".join([", ".join(parts[:-1]), parts[-1]] if len(parts) > 1 else parts)


def date_words(day: date) -> str:
    """Return a day as English has it: Tue 1 Dec."""
    return f"{day:%a} {day.day} {day:%b}"


ENGLISH: Final = Tongue(_form, str, date_words, lambda number: f"{number:g}", _together)
