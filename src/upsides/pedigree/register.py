"""The rows of a table as animals: who a parent's name means, and rows that say different things of one animal."""

import re
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.pedigree.reading import Table
from upsides.results.naming import AT, keys_of, may_be_one, without_suffix
from upsides.trade.sex import Born, Language, Sex, parse_born, parse_sexes

Codes = NDArray[np.int32]
NOT_KNOWN, MALE, FEMALE, GELDING = 0, 1, 2, 3
SIRE, DAM, DAM_SIRE = 0, 1, 2
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
        line: (n,) line of its first row, 0 where it has none; of those that have none only dams may have a parent.
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
    parents: tuple[list[str], list[str], list[str]]
    texts: tuple[list[str], list[str], list[str]]
    sex: list[int]
    born: list[int]
    line: list[int]
    repeated: dict[int, list[int]]
    disputed: list[tuple[int, bool, tuple[int, ...]]]


def register_of(table: Table) -> Register:
    """Settle who is who in a table."""
    held = _animals(table)
    names = keys_of(held.printed) if table.by_name else list(held.place)
    finder = _Finder(held, names, by_name=table.by_name, dated=table.dated)
    found = [[finder.place(i, key, side) for i, key in enumerate(held.parents[side])] for side in (SIRE, DAM)]
    above = finder.sires_of_dams(found[DAM])
    alone, n = len(finder.named), len(held.line)
    return Register(
        keys=[*held.place, *finder.keys()],
        printed=[*held.printed, *finder.printed],
        sire=np.array([*found[SIRE], *(above.get(place, -1) for place in range(n, n + alone))], dtype=np.int32),
        dam=np.array([*found[DAM], *[-1] * alone], dtype=np.int32),
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
    noughts = [(i, side == SIRE) for side in (SIRE, DAM) for i, text in enumerate(held.texts[side]) if text == "0"]
    blanks = sum(held.texts[side].count("") for side in (SIRE, DAM))
    return noughts if len(noughts) < blanks else []


def _animals(table: Table) -> _Rows:
    rows = table.rows
    animals, *named = (rows[name].to_list() for name in ("animal", "sire", "dam", "dam_sire"))
    keys, named_keys = keys_of(animals), [keys_of(texts) for texts in named]
    names = [name or text for name, text in zip(rows["name"].to_list(), animals, strict=True)]
    sexes, years, lines = sexes_of(rows["sex"].to_list()), years_of(rows["born"].to_list()), rows["line"].to_list()
    held = _Rows({}, [], ([], [], []), ([], [], []), [], [], [], {}, [])
    for i, written in enumerate(keys):
        parents, texts = [column[i] for column in named_keys], [column[i] or "" for column in named]
        if not written and not parents[SIRE] and not parents[DAM]:
            continue
        key = written or f"unnamed, line {lines[i]}"
        place = held.place.get(key)
        if place is not None:
            _add_row(held, place, parents, texts, (sexes[i], years[i], lines[i]))
            continue
        held.place[key] = len(held.line)
        held.printed.append(str(names[i]) if written else key)
        for side in (SIRE, DAM, DAM_SIRE):
            held.parents[side].append(parents[side])
            held.texts[side].append(texts[side])
        held.sex.append(sexes[i])
        held.born.append(years[i])
        held.line.append(lines[i])
    return held


def _add_row(held: _Rows, place: int, parents: list[str], texts: list[str], rest: tuple[int, int, int]) -> None:
    """Take from another row of an animal what the first did not know; note where they differ."""
    sex, born, line = rest
    lines = held.repeated.setdefault(place, [held.line[place]])
    lines.append(line)
    for side in (SIRE, DAM, DAM_SIRE):
        before, now = held.parents[side][place], parents[side]
        if now and before and not may_be_one(before, now):
            if side != DAM_SIRE:
                held.disputed.append((place, side == SIRE, (held.line[place], line)))
        elif now and len(now) > len(before):
            held.parents[side][place], held.texts[side][place] = now, texts[side]
    held.sex[place] = held.sex[place] or sex
    held.born[place] = held.born[place] or born


class _Finder:
    """Finds the animal that a parent's name means, and counts those that have no row.

    Where names are told, dams of one name by two sires are two dams.
    """

    def __init__(self, held: _Rows, names: list[str], *, by_name: bool, dated: bool) -> None:
        self.held, self.by_name, self.joined = held, by_name, 0
        self.when_undated = -1 if dated else YOUNGEST_PARENT
        self.named: dict[tuple[str, int, str], int] = {}
        self.by: dict[str, set[str]] = {}
        for dam, by in zip(held.parents[DAM], held.parents[DAM_SIRE], strict=True):
            if dam and by:
                self.by.setdefault(dam, set()).add(without_suffix(by))
        self.printed: list[str] = []
        self.called: dict[str, list[int]] = {}
        self.names = names
        suffixed = any(AT in key for keys in (names, *held.parents) for key in keys)
        for place, name in enumerate(names if by_name or suffixed else ()):
            self.called.setdefault(without_suffix(name), []).append(place)

    def keys(self) -> list[str]:
        """Return the keys of the parents without a row; where names are told, a sire's and a dam's are two."""
        return [
            f"{key}|{('sire', 'dam')[side]}{f'|{by}' if by else ''}" if self.by_name else key
            for key, side, by in self.named
        ]

    def place(self, child: int, key: str, side: int, column: int | None = None) -> int:
        """Return the place of a parent, -1 where none is named; `column` where its name does not stand in its own."""
        if not key:
            return -1
        if not self.by_name and key in self.held.place:
            return self.held.place[key]
        fitting = [p for p in self.called.get(without_suffix(key), ()) if self._fits(p, child, key, side)]
        if len(fitting) == 1:
            self.joined += not self.by_name
            return fitting[0]
        return self._alone(child, key, side, side if column is None else column)

    def sires_of_dams(self, dams: list[int]) -> dict[int, int]:
        """Return the place of the sire of each dam that has no row, named by any foal; the eldest's year counts."""
        held, found = self.held, dict[int, int]()
        for child in sorted(range(len(held.line)), key=lambda i: (held.born[i] == 0, held.born[i])):
            dam, by = dams[child], held.parents[DAM_SIRE][child]
            told = self.by_name or len(self.by.get(held.parents[DAM][child], ())) == 1
            if by and told and dam >= len(held.line) and dam not in found:
                found[dam] = self.place(child, by, SIRE, DAM_SIRE)
        return found

    def _alone(self, child: int, key: str, side: int, column: int) -> int:
        """Return the place of a parent that has no row."""
        several = side == DAM and self.by_name and len(self.by.get(key, ())) > 1
        by = self.held.parents[DAM_SIRE][child] if several else ""
        last = len(self.held.line) + len(self.named)
        known = self.named.setdefault((key, side if self.by_name else 0, without_suffix(by)), last)
        if known == last:
            told = f" (by {self.held.texts[DAM_SIRE][child]})" if by else ""
            self.printed.append(self.held.texts[column][child] + told)
        return known

    def _fits(self, place: int, child: int, key: str, side: int) -> bool:
        """Say whether nothing speaks against an animal of this name being the parent."""
        held = self.held
        years = held.born[child] - held.born[place] if held.born[child] and held.born[place] else self.when_undated
        against = (FEMALE, GELDING) if side == SIRE else (MALE, GELDING)
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
    born, now = parse_born(distinct, language).values, parse_sexes(distinct, language).values
    meaning = {"": NOT_KNOWN, Born.MALE: MALE, Born.FEMALE: FEMALE}
    codes = {text: meaning[str(word)] for text, word in zip(distinct, born, strict=True)}
    codes |= {text: GELDING for text, word in zip(distinct, now, strict=True) if word == Sex.GELDING}
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
