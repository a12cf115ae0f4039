"""Finding the rule in force: a yard's own rules before the shipped ones, the nearest jurisdiction first."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from upsides.errors import NoRuleError
from upsides.errors.wording import gettext as _
from upsides.rules.files import entries_of, read_rules, shipped
from upsides.rules.jurisdictions import chain, place_named
from upsides.rules.rule import Entry


def _any(_body: Mapping[str, Any]) -> bool:
    return True


@dataclass(frozen=True, slots=True)
class Overrides:
    """A yard's own rules; one that answers wins over the shipped rules, and its `rule.origin` says so."""

    entries: tuple[Entry, ...] = ()

    @property
    def places(self) -> frozenset[str]:
        """The jurisdictions that these rules name."""
        return frozenset(entry.rule.jurisdiction for entry in self.entries)

    def __add__(self, other: "Overrides") -> "Overrides":
        return Overrides(self.entries + other.entries)


NONE = Overrides()

OWN_RULES = "rules.toml"
"""What a folder's own rules are kept in; they go before the shipped ones."""


def read_overrides(path: Path) -> Overrides:
    """Read a yard's own rules from a TOML file laid out like those in `rules/data`.

    Raises:
        RuleFileError: the file cannot be read, or one of its rules cannot be used.
    """
    return Overrides(read_rules(path))


def own_rules(folder: Path) -> Overrides:
    """Return the rules of its own that a library or yard keeps in its folder, as `rules.toml`; none where it has none.

    Raises:
        RuleFileError: the file cannot be read, or one of its rules cannot be used.
    """
    file = folder / OWN_RULES
    return read_overrides(file) if file.exists() else NONE


def override(topic: str, name: str, jurisdiction: str, source: str, **fields: object) -> Overrides:
    """Return one rule of a yard's own, given in code.

    Args:
        topic: one of `files.NEEDED`.
        name: its name.
        jurisdiction: where it holds.
        source: who says so and when.
        fields: the other fields of a rule of that topic: `valid_from`, `valid_to`, `confidence` ("high"
            unless given), `note`, and its figures as in the shipped files.

    Raises:
        RuleFileError: a field is missing or cannot be meant.
    """
    row = {"confidence": "high"} | fields | {"name": name, "jurisdiction": jurisdiction, "source": source}
    return Overrides(tuple(entries_of({"topic": topic, "rule": [row]}, _("given in code"), "yard (given in code)")))


def candidates(
    topic: str,
    jurisdiction: str,
    overrides: Overrides = NONE,
    where: Callable[[Mapping[str, Any]], bool] = _any,
) -> list[Entry]:
    """Return the rules of a topic that answer for a jurisdiction on some date, first to be asked first."""
    places = chain(jurisdiction, _places(overrides))
    found: list[Entry] = []
    for book in _books(topic, overrides):
        mine = [entry for entry in book if where(entry.body)]
        found += [entry for place in places for entry in mine if entry.rule.jurisdiction == place]
    return found


@lru_cache(maxsize=512)
def _books(topic: str, overrides: Overrides) -> tuple[tuple[Entry, ...], ...]:
    """Return the rules of a topic, the yard's own and the shipped ones."""
    return tuple(tuple(one for one in book if one.rule.topic == topic) for book in (overrides.entries, shipped()))


@lru_cache(maxsize=64)
def _places(overrides: Overrides) -> frozenset[str]:
    return overrides.places


def in_force(
    topic: str,
    jurisdiction: str,
    on: date,
    overrides: Overrides = NONE,
    where: Callable[[Mapping[str, Any]], bool] = _any,
) -> list[Entry]:
    """Return the rules in force on a date, first to be asked first.

    Raises:
        NoRuleError: there is none; the error lists those that hold on other dates or for other cases.
    """
    found = [entry for entry in candidates(topic, jurisdiction, overrides, where) if entry.rule.in_force(on)]
    if not found:
        exists = [str(entry.rule) for entry in candidates(topic, jurisdiction, overrides)]
        place = place_named(jurisdiction, overrides.places)
        raise NoRuleError(topic, place, on, exists)
    return found


def unhidden(entries: list[Entry], same: Sequence[str]) -> list[Entry]:
    """Return the rules that no nearer rule hides: of rules alike in the fields `same`, those of the first book."""
    book_of: dict[str, tuple[str, str]] = {}
    kept: list[Entry] = []
    for entry in entries:
        book = (entry.rule.origin, entry.rule.jurisdiction)
        if book_of.setdefault(str([entry.body.get(field) for field in same]), book) == book:
            kept.append(entry)
    return kept


def spans(entries: list[Entry], dates: NDArray[np.datetime64]) -> tuple[list[date], NDArray[np.intp]]:
    """Cut dates into spans within which the same rules hold.

    Args:
        entries: the rules.
        dates: (n,) days; a missing day falls into the last span.

    Returns:
        One day of each span, and the (n,) index of the span of each date.
    """
    edges = {e.rule.valid_from for e in entries if e.rule.valid_from}
    edges |= {e.rule.valid_to + timedelta(days=1) for e in entries if e.rule.valid_to}
    starts = sorted(edges)
    days = [starts[0] - timedelta(days=1), *starts] if starts else [date(2000, 1, 1)]
    return days, np.searchsorted(np.array(starts, dtype="datetime64[D]"), dates, side="right")
