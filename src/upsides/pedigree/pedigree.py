"""A pedigree with its names: the graph, who stands at each place of it, and how it was made from a table."""

import difflib
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from upsides.errors import AnimalAmbiguousError, AnimalUnknownError, PedigreeLoopError
from upsides.pedigree.columns import Columns
from upsides.pedigree.faults import Faults, Link, find_faults
from upsides.pedigree.graph import Graph, generations_of, graph_of
from upsides.pedigree.loops import in_knots
from upsides.pedigree.reading import Table, read_table
from upsides.pedigree.register import NOT_KNOWN, Register, register_of
from upsides.results.naming import key_of, without_suffix

LOOKALIKES = 200_000


@dataclass(frozen=True)
class Pedigree:
    """Animals in order, parents before offspring.

    Args:
        graph: who is out of whom.
        keys: each animal's key (`naming.key_of`), and
        printed: how it is printed.
        sex: (n,) 0 not known, 1 male, 2 female, 3 gelding.
        born: (n,) year, 0 where unknown.
        line: (n,) line in the table, 0 for a parent without a row.
    """

    graph: Graph
    keys: tuple[str, ...]
    printed: tuple[str, ...]
    sex: NDArray[np.int8]
    born: NDArray[np.int32]
    line: NDArray[np.int64]

    @cached_property
    def places(self) -> dict[str, int]:
        """Place of each key."""
        return {key: place for place, key in enumerate(self.keys)}

    def place(self, text: str) -> int:
        """Return the place of an animal by its number or name, the country suffix where it is needed.

        Raises:
            AnimalUnknownError: none answers; those like it are named.
            AnimalAmbiguousError: several do.
        """
        key = key_of(text)
        for exactly in (text, key):
            if exactly and exactly in self.places:
                return self.places[exactly]
        bare = without_suffix(key)
        names = [key_of(name) for name in self.printed]
        found = [i for i, name in enumerate(names) if name == key] if key else []
        if not found and key == bare and key:
            found = [i for i, name in enumerate(names) if without_suffix(name) == key]
        if len(found) == 1:
            return found[0]
        if found:
            raise AnimalAmbiguousError(text, [self._told(place) for place in found])
        near = difflib.get_close_matches(bare, [without_suffix(name) for name in names[:LOOKALIKES]], n=6)
        raise AnimalUnknownError(
            text, [self.printed[i] for i, name in enumerate(names) if without_suffix(name) in near][:6]
        )

    def _told(self, place: int) -> str:
        name, key = self.printed[place], self.keys[place]
        born = f", born {self.born[place]}" if self.born[place] else ""
        return f"{name}{born}" if key_of(name) == key else f"{name} [{key}]{born}"


class Cut(NamedTuple):
    """A link that a repair left out: whose, which parent, as what ("sire" or "dam"), why.

    Where a recorded sex was left out instead, the role is "sex" and the parent "".
    """

    animal: str
    parent: str
    role: str
    reason: str


@dataclass(frozen=True, slots=True)
class Read:
    """A pedigree read from a table.

    Args:
        pedigree: what was made of it.
        register: its animals in the order of the table, with what rows said twice.
        faults: what was found in it.
        cuts: links left out; empty unless a repair was asked for.
    """

    pedigree: Pedigree
    register: Register
    faults: Faults
    cuts: tuple[Cut, ...] = ()


def read_pedigree(path: Path, columns: Columns | None = None, *, encoding: str = "utf-8", repair: bool = False) -> Read:
    """Read a pedigree from a file; see `reading.read_table` for what it may be and `pedigree_of` for the rest."""
    return pedigree_of(read_table(path, columns, encoding=encoding), repair=repair)


def pedigree_of(table: Table, *, repair: bool = False) -> Read:
    """Make a pedigree of a table.

    Args:
        table: its rows.
        repair: leave out the links at fault, and say which. Without it nothing is changed: what cannot be right
            but can be worked with stays as it was written.

    Raises:
        PedigreeLoopError: somebody is its own ancestor and no repair was asked for.
    """
    register = register_of(table)
    faults = find_faults(register)
    cuts: tuple[Cut, ...] = ()
    if repair:
        register, cuts = _repaired(register, faults)
    elif faults.loops:
        behind = int((generations_of(register.sire, register.dam) < 0).sum())
        raise PedigreeLoopError(behind, [fault.said for fault in faults.loops])
    return Read(_ordered(register), register, faults, cuts)


def _repaired(register: Register, faults: Faults) -> tuple[Register, tuple[Cut, ...]]:
    """Leave out the links at fault; where the search for loops was stopped, every link inside what is left."""
    sire, dam, sex = register.sire.copy(), register.dam.copy(), register.sex.copy()
    doubted = {fault.sex_of: fault.said for fault in faults.sex_conflicts if fault.sex_of >= 0}
    sex[list(doubted)] = NOT_KNOWN
    cuts: dict[Link, str] = {}
    for fault in faults.wrong:
        for link in fault.links:
            cuts.setdefault(link, fault.said)
    for link in cuts:
        (sire if link.as_sire else dam)[link.child] = -1
    for knot in in_knots(sire, dam):
        for child in knot:
            for parents, as_sire in ((sire, True), (dam, False)):
                if parents[child] in knot:
                    cuts[Link(child, int(parents[child]), as_sire)] = "it is one of many loops that share their links"
                    parents[child] = -1
    told = tuple(
        Cut(register.printed[link.child], register.printed[link.parent], "sire" if link.as_sire else "dam", reason)
        for link, reason in cuts.items()
    )
    sexes = tuple(Cut(register.printed[animal], "", "sex", reason) for animal, reason in doubted.items())
    return replace(register, sire=sire, dam=dam, sex=sex), told + sexes


def _ordered(register: Register) -> Pedigree:
    graph, order = graph_of(register.sire, register.dam)
    keys, printed = register.keys, register.printed
    return Pedigree(
        graph,
        tuple(keys[i] for i in order),
        tuple(printed[i] for i in order),
        register.sex[order],
        register.born[order],
        register.line[order],
    )
