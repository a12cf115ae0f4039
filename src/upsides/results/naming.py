"""When two names of a pedigree table mean one animal."""

import re
from collections.abc import Iterable

from upsides.results.identity import plain_name, plain_suffix

UNKNOWN = frozenset({
    "", "0", "00", "000", "na", "n/a", "nan", "null", "none", "-", "--", "---", ".", "*", "?", "unknown", "not known",
    "unnamed",
})  # fmt: skip
"""Cells that mean "not recorded", in small letters."""
SUFFIXED = re.compile(r"(.*\S)\s*\(([A-Za-z]{2,4})\)")
AT = "@"


def key_of(text: str | None) -> str:
    """Return a name as it is compared, "" where nothing is recorded.

    Case, accents, blanks and punctuation make no difference in names; the country suffix does, by its ISO code
    (`Alder (IRE)` is `alder@IE`). What holds a digit is a number of a register: there only case, outer blanks
    and the form of letters (full width, half width) are levelled, because 1-12 and 11-2 are two animals.
    """
    bare = " ".join((text or "").split())
    if bare.casefold() in UNKNOWN:
        return ""
    parts = SUFFIXED.fullmatch(bare)
    name, suffix = (parts[1], AT + plain_suffix(parts[2])) if parts else (bare, "")
    if name.casefold() in UNKNOWN:
        return ""
    if any(letter.isdigit() for letter in name):
        return " ".join(name.casefold().split()) + suffix
    return (plain_name(name) or name.casefold()) + suffix


def keys_of(texts: Iterable[str | None]) -> list[str]:
    """Return the key of each text; each distinct one is worked out once."""
    known: dict[str | None, str] = {}
    return [known[text] if text in known else known.setdefault(text, key_of(text)) for text in texts]


def may_be_one(one: str, other: str) -> bool:
    """Say whether two keys are the same, or would be if the one without a country got the other's."""
    return one == other or (without_suffix(one) == without_suffix(other) and (AT in one) != (AT in other))


def without_suffix(key: str) -> str:
    """Return a key without its country."""
    return key.rpartition(AT)[0] if AT in key[1:] else key
