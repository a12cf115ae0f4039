"""The rows of a table as animals: who a parent's name means, and rows that say different things of one animal."""

import re
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.pedigree.naming import AT, keys_of, may_be_one, without_suffix
from upsides.pedigree.reading import Table
from upsides.trade.sex import Language, parse_sexes

Codes = NDArray[np.int32]
NOT_KNOWN, MALE, FEMALE, GELDING = 0, 1, 2, 3
YOUNGEST_PARENT = 3
"""Years by which a parent must be older before a bare name is taken to mean it; common practice, no source."""
YEARS = range(1600, 2200)
YEAR = re.compile(r"(?<!\d)(\d{4})(?!\d)")


@dataclass(frozen=True, slots=True)
class Register:
    """Animals in the order of the table, those that are only named as parents after them.

    Args:
        keys: each animal's key, and
        printed: how it is printed.
        sire: (n,) its sire's place, -1 where unknown, in any order.
        dam: (n,) its dam's.
        sex: (n,) NOT_KNOWN, MALE, FEMALE or GELDING.
        born: (n,) year, 0 where unknown.
        line: (n,) line of its first row, 0 where it has none.
        repeated: keys of animals with several rows, and their lines.
        disputed: (animal, whether it is the sire that differs, the lines) where rows of one animal differ.
        joined: names without a country that were taken to mean the one animal called so.
        rows: how many rows were read.
        strays: (animal, whether as its sire) where 0 is written for a parent although blanks are the rule.
    """

    keys: list[str]
    printed: list[str]
    sire: Codes
    dam: Codes
    sex: NDArray[np.int8]
    born: Codes
    line: NDArray[np.int64]
    repeated: dict[int, list[int]]
    disputed: list[tuple[int, bool, tuple[int, ...]]]
    joined: int
    rows: int
    strays: list[tuple[int, bool]]


@dataclass(slots=True)
class _Rows:
    """One entry an animal that has a row."""

    place: dict[str, int]
    printed: list[str]
    parents: tuple[list[str], list[str]]
    texts: tuple[list[str], list[str]]
    sex: list[int]
    born: list[int]
    line: list[int]
    repeated: dict[int, list[int]]
    disputed: list[tuple[int, bool, tuple[int, ...]]]


def register_of(table: Table) -> Register:
    """Settle who is who in a table."""
    held = _animals(table)
    names = keys_of(held.printed) if table.by_name else list(held.place)
    finder = _Finder(held, names, by_name=table.by_name)
    found = [[finder.place(i, key, side) for i, key in enumerate(held.parents[side])] for side in (0, 1)]
    alone, n = len(finder.named), len(held.line)
    return Register(
        keys=[*held.place, *finder.keys()],
        printed=[*held.printed, *finder.printed],
        sire=np.array([*found[0], *[-1] * alone], dtype=np.int32),
        dam=np.array([*found[1], *[-1] * alone], dtype=np.int32),
        sex=np.array([*held.sex, *[NOT_KNOWN] * alone], dtype=np.int8),
        born=np.array([*held.born, *[0] * alone], dtype=np.int32),
        line=np.array([*held.line, *[0] * alone], dtype=np.int64),
        repeated={i: lines for i, lines in held.repeated.items() if i < n},
        disputed=held.disputed,
        joined=finder.joined,
        rows=table.rows.height,
        strays=_strays(held),
    )


def _strays(held: _Rows) -> list[tuple[int, bool]]:
    """Find the noughts among parents of a table that otherwise leaves unknown parents blank."""
    noughts = [(i, side == 0) for side in (0, 1) for i, text in enumerate(held.texts[side]) if text == "0"]
    blanks = sum(texts.count("") for texts in held.texts)
    return noughts if len(noughts) < blanks else []


def _animals(table: Table) -> _Rows:
    rows = table.rows
    animals, sires, dams = (rows[name].to_list() for name in ("animal", "sire", "dam"))
    keys, sire_keys, dam_keys = keys_of(animals), keys_of(sires), keys_of(dams)
    names = [name or text for name, text in zip(rows["name"].to_list(), animals, strict=True)]
    sexes, years, lines = sexes_of(rows["sex"].to_list()), years_of(rows["born"].to_list()), rows["line"].to_list()
    held = _Rows({}, [], ([], []), ([], []), [], [], [], {}, [])
    for i, written in enumerate(keys):
        if not written and not sire_keys[i] and not dam_keys[i]:
            continue
        key = written or f"unnamed, line {lines[i]}"
        parents, texts = (sire_keys[i], dam_keys[i]), (sires[i] or "", dams[i] or "")
        place = held.place.get(key)
        if place is not None:
            _add_row(held, place, parents, texts, (sexes[i], years[i], lines[i]))
            continue
        held.place[key] = len(held.line)
        held.printed.append(str(names[i]) if written else key)
        for side in (0, 1):
            held.parents[side].append(parents[side])
            held.texts[side].append(texts[side])
        held.sex.append(sexes[i])
        held.born.append(years[i])
        held.line.append(lines[i])
    return held


def _add_row(
    held: _Rows, place: int, parents: tuple[str, str], texts: tuple[str, str], rest: tuple[int, int, int]
) -> None:
    """Take from another row of an animal what the first did not know; note where they differ."""
    sex, born, line = rest
    lines = held.repeated.setdefault(place, [held.line[place]])
    lines.append(line)
    for side in (0, 1):
        before, now = held.parents[side][place], parents[side]
        if now and before and not may_be_one(before, now):
            held.disputed.append((place, side == 0, (held.line[place], line)))
        elif now and len(now) > len(before):
            held.parents[side][place], held.texts[side][place] = now, texts[side]
    held.sex[place] = held.sex[place] or sex
    held.born[place] = held.born[place] or born


class _Finder:
    """Finds the animal that a parent's name means, and counts those that have no row."""

    def __init__(self, held: _Rows, names: list[str], *, by_name: bool) -> None:
        self.held, self.by_name, self.joined = held, by_name, 0
        self.named: dict[tuple[str, int], int] = {}
        self.printed: list[str] = []
        self.called: dict[str, list[int]] = {}
        self.names = names
        suffixed = any(AT in key for keys in (names, *held.parents) for key in keys)
        for place, name in enumerate(names if by_name or suffixed else ()):
            self.called.setdefault(without_suffix(name), []).append(place)

    def keys(self) -> list[str]:
        """Return the keys of the parents without a row; where names are told, a sire's and a dam's are two."""
        return [f"{key}|{('sire', 'dam')[side]}" if self.by_name else key for key, side in self.named]

    def place(self, child: int, key: str, side: int) -> int:
        """Return the place of a parent, -1 where none is named."""
        if not key:
            return -1
        if not self.by_name and key in self.held.place:
            return self.held.place[key]
        fitting = [p for p in self.called.get(without_suffix(key), ()) if self._fits(p, child, key, side)]
        if len(fitting) == 1:
            self.joined += not self.by_name
            return fitting[0]
        known = self.named.setdefault((key, side if self.by_name else 0), len(self.held.line) + len(self.named))
        if known == len(self.held.line) + len(self.printed):
            self.printed.append(self.held.texts[side][child])
        return known

    def _fits(self, place: int, child: int, key: str, side: int) -> bool:
        """Say whether nothing speaks against an animal of this name being the parent."""
        held = self.held
        years = held.born[child] - held.born[place] if held.born[child] and held.born[place] else YOUNGEST_PARENT
        against = (FEMALE, GELDING) if side == 0 else (MALE, GELDING)
        return (
            place != child
            and years >= YOUNGEST_PARENT
            and held.sex[place] not in against
            and may_be_one(self.names[place], key)
        )


def sexes_of(texts: list[str | None]) -> list[int]:
    """Read sexes; where the only letters are M and F (or 1 and 2), M and 1 are male."""
    distinct = sorted({text for text in texts if text})
    letters = {text.casefold() for text in distinct if len(text) == 1}
    language: Language = "french" if letters <= {"m", "f"} else "english"
    read = parse_sexes(distinct, language, np.zeros(len(distinct))).values
    meaning = {"": NOT_KNOWN, "filly": FEMALE, "mare": FEMALE, "gelding": GELDING}
    codes = dict(zip(distinct, (meaning.get(str(word), MALE) for word in read), strict=True))
    codes |= {text: FEMALE for text in distinct if text.casefold() == "female"}
    if letters <= {"0", "1", "2"}:
        codes |= {"1": MALE, "2": FEMALE}
    return [codes.get(text or "", NOT_KNOWN) for text in texts]


def years_of(texts: Iterable[str | None]) -> list[int]:
    """Read years out of years and dates; 0 where there is none that can be."""
    known: dict[str | None, int] = {}
    return [known[text] if text in known else known.setdefault(text, _year(text)) for text in texts]


def _year(text: str | None) -> int:
    found = YEAR.search(text or "")
    return int(found[1]) if found and int(found[1]) in YEARS else 0
