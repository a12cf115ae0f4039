"""Texts of refusals: English here, gathered here for translation, said by the pages in their reader's language."""

import re
from collections.abc import Iterable, Mapping
from datetime import date, datetime
from numbers import Integral, Real
from string import Formatter
from typing import Any, Final, Self


class Words(str):
    """A text in English that keeps from what it was made, so that a page can say it in another language.

    Attributes:
        sentence: as it is gathered for translation, with names in braces where values stand.
        values: these values by name; texts of this kind among them are translated too.
    """

    sentence: str
    values: dict[str, object]

    def __new__(cls, text: str, sentence: str = "", values: dict[str, object] | None = None) -> Self:
        """Make one; without a sentence the text is that."""
        made = super().__new__(cls, text)
        made.sentence, made.values = sentence or text, values or {}
        return made

    def __str__(self) -> str:
        """Return itself, so that `str(error)` keeps from what it was made."""
        return self


DAY_OF_MONTH: Final = re.compile(r"%d(?= %[bB])")
"""A day that the name of its month follows; in 2026-07-03 both have two digits."""


class _Filled(Formatter):
    """Fills values in as `str.format` does, but the day of a month as it is written: 3 July and not 03 July."""

    def format_field(self, value: Any, format_spec: str) -> str:
        if isinstance(value, date):
            format_spec = DAY_OF_MONTH.sub(str(value.day), format_spec)
        return str(super().format_field(value, format_spec))


def filled(sentence: str, values: Mapping[str, object]) -> str:
    """Return a sentence with its values where their names stand in braces."""
    return _Filled().vformat(sentence, (), values) if values else sentence


def gettext(sentence: str, /, **values: object) -> Words:
    """Return a sentence with its values in it, under the name by which texts to translate are gathered."""
    return Words(filled(sentence, values), sentence, values)


def joined(texts: Iterable[str], by: str) -> Words:
    """Return texts one after the other, each of them still to be translated."""
    values: dict[str, object] = {f"part_{number}": text for number, text in enumerate(texts)}
    return gettext(by.join(f"{{{name}}}" for name in values), **values)


def as_kept(text: str) -> Any:
    """Return a text as JSON can hold it, with what it was made from; `of_kept` reads it."""
    if not isinstance(text, Words):
        return text
    return {"sentence": text.sentence, "values": {name: _kept(value) for name, value in text.values.items()}}


def of_kept(kept: Any) -> str:
    """Return a text out of what was kept of it; earlier versions kept it in English alone."""
    if isinstance(kept, str):
        return kept
    return gettext(kept["sentence"], **{name: _read(value) for name, value in kept["values"].items()})


def _kept(value: object) -> Any:
    match value:
        case str():
            return as_kept(value)
        case datetime() | date():
            return {"moment" if isinstance(value, datetime) else "day": value.isoformat()}
        case bool() | int() | float():
            return value
        case Real():
            return int(value) if isinstance(value, Integral) else float(value)
    return str(value)


def _read(kept: Any) -> object:
    match kept:
        case {"moment": moment}:
            return datetime.fromisoformat(moment)
        case {"day": day}:
            return date.fromisoformat(day)
        case dict():
            return of_kept(kept)
    return kept
