"""Finding horses of a list: by words and by what they are."""

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

from upsides.books.queries.string import Listed

WITHOUT = "-"
"""Stands for an empty barn, and for nobody who looks after a horse."""
_NOT_DECOMPOSED = str.maketrans({"ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "æ": "ae", "œ": "oe", "ı": "i"})


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is looked for; what is empty does not matter.

    Args:
        words: each stands somewhere in the horse's name, its sire's or its dam's.
        sex: a value of `Horse.Sex`.
        age: official age.
        barn: name of the barn, or `WITHOUT`.
        carer: number of who looks after it, or `WITHOUT`.
        raced: "yes" or "no".
    """

    words: str = ""
    sex: str = ""
    age: str = ""
    barn: str = ""
    carer: str = ""
    raced: str = ""


def folded(text: str) -> str:
    """Return a text as it is compared: no case, no accents, no apostrophes."""
    bare = unicodedata.normalize("NFKD", text.casefold().translate(_NOT_DECOMPOSED))
    return "".join(letter for letter in bare if letter.isalnum() or letter.isspace())


def found(listed: Iterable[Listed], wanted: Wanted) -> list[Listed]:
    """Return the horses that answer to everything that is wanted, in their order."""
    words = folded(wanted.words).split()
    return [one for one in listed if _is(one, wanted) and _called(one, words)]


def _called(one: Listed, words: list[str]) -> bool:
    if not words:
        return True
    names = folded(f"{one.horse.name}\n{one.horse.sire}\n{one.horse.dam}")
    return all(word in names for word in words)


def _is(one: Listed, wanted: Wanted) -> bool:
    horse = one.horse
    return (
        wanted.sex in {"", horse.sex}
        and wanted.age in {"", str(one.age)}
        and wanted.barn in {"", one.barn or WITHOUT}
        and wanted.carer in {"", str(horse.carer_id or WITHOUT)}
        and wanted.raced in {"", "no" if one.raced is None else "yes"}
    )
