"""Which rules a place falls under: its own, then those of its wider body, then those that hold anywhere."""

import tomllib
from collections.abc import Collection
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import Final

from upsides.errors import UnreadableError

ANYWHERE: Final = "anywhere"


@dataclass(frozen=True, slots=True)
class _Places:
    names: dict[str, str]
    within: dict[str, str]


@lru_cache(maxsize=1)
def _places() -> _Places:
    text = files("upsides.rules").joinpath("data", "jurisdictions.toml").read_text(encoding="utf-8")
    rows = tomllib.loads(text)["jurisdiction"]
    names = {key: row["name"] for row in rows for key in (row["name"], *row.get("codes", ()))}
    return _Places(names, {row["name"]: row["within"] for row in rows if "within" in row})


def jurisdictions() -> tuple[str, ...]:
    """Return the names of the places that the shipped rules know."""
    return tuple(dict.fromkeys(_places().names.values()))


def place_named(text: str, extra: Collection[str] = ()) -> str:
    """Return the place meant by a name or a country code.

    A country code that no rule mentions stands for itself, and an empty text for anywhere: results come from
    more countries than rules do.

    Args:
        text: a name ("Hong Kong"), an ISO 3166 code ("HK") or a suffix of horses' names ("IRE").
        extra: names that a yard's own rules add.

    Raises:
        UnreadableError: a longer text that is no known name.
    """
    if text in extra:
        return text
    known = _places().names.get(text)
    if known or not text:
        return known or ANYWHERE
    if text == ANYWHERE or (text.isupper() and len(text) <= 3):
        return text
    raise UnreadableError("jurisdiction", text, ", ".join(jurisdictions()))


_ALSO: Final = {
    "uk": "Britain", "united kingdom": "Britain", "great britain": "Britain", "england": "Britain",
    "scotland": "Britain", "wales": "Britain", "eire": "Ireland", "america": "United States",
}  # fmt: skip


def place_meant(text: str) -> str | None:
    """Return the place of the rules that somebody means by a name or a code, however written; None for none of them."""
    bare = " ".join(text.split()).casefold()
    known = {name.casefold(): place for name, place in _places().names.items()}
    return known.get(bare) or _ALSO.get(bare)


def named(text: str) -> str:
    """Return the name of the place that a code means; any other text stands for itself."""
    return _places().names.get(text, text)


def chain(text: str, extra: Collection[str] = ()) -> tuple[str, ...]:
    """Return the places whose rules are asked for `text`, nearest first, ending with "anywhere"."""
    place: str | None = place_named(text, extra)
    found: list[str] = []
    while place and place != ANYWHERE:
        found.append(place)
        place = _places().within.get(place)
    return (*found, ANYWHERE)
