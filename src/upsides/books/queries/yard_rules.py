"""The yard's own rules, read once for each state of their file."""

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from upsides.books.models import Yard
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment
from upsides.errors import RuleFileError, UnreadableError
from upsides.rules import NONE, OWN_RULES, Overrides, own_rules, place_named


@dataclass(frozen=True, slots=True)
class YardRules:
    """Rules of the yard's own.

    Args:
        overrides: they go before the shipped ones; none where the file cannot be used.
        fault: what is wrong with the file, empty where nothing is.
    """

    overrides: Overrides = NONE
    fault: str = ""


def yard_rules(folder: Path) -> YardRules:
    """Return the rules that a library's folder keeps; the shipped ones alone where its file cannot be used.

    Args:
        folder: of the library.
    """
    state = rules_state(folder)
    return YardRules() if state is None else _read(folder, *state)


def rules_state(folder: Path) -> tuple[int, int] | None:
    """Return numbers that change with the file of a folder's own rules, None where there is none."""
    try:
        state = (folder / OWN_RULES).stat()
    except OSError:
        return None
    return state.st_mtime_ns, state.st_size


def own_place(moment: Moment, overrides: Overrides = NONE) -> str:
    """Return the jurisdiction that the yard stands in, named as rules name it; "anywhere" where they know none such.

    Args:
        moment: when to look from.
        overrides: the yard's own rules, which may name places that the shipped ones do not.
    """
    text = moments.rows(Yard, moment).values_list("jurisdiction", flat=True).first() or ""
    try:
        return place_named(text, overrides.places)
    except UnreadableError:
        return place_named("")


@lru_cache(maxsize=8)
def _read(folder: Path, _changed: int, _size: int) -> YardRules:
    try:
        return YardRules(own_rules(folder))
    except RuleFileError as error:
        return YardRules(fault=str(error))
