"""Ancestors that a pedigree holds more than once, in the trade's notation: 3x4, 5S x 5S x 4D.

Parents are generation 1. The places of an ancestor are listed as they are met reading a printed pedigree from top
to bottom, the sire's half first (S), the dam's below (D).
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from upsides.pedigree.graph import Graph

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Line:
    """One place in a printed pedigree.

    Args:
        path: the animals from a parent of the horse to the ancestor at this place, the ancestor last.
        through_sire: whether it stands in the sire's half.
    """

    path: tuple[int, ...]
    through_sire: bool

    @property
    def generation(self) -> int:
        """Generation of the place, 1 for a parent."""
        return len(self.path)

    def __str__(self) -> str:
        return f"{self.generation}{'S' if self.through_sire else 'D'}"


@dataclass(frozen=True, slots=True)
class Duplicate:
    """An ancestor that stands in the pedigree more than once.

    Args:
        animal: which.
        lines: its places, from top to bottom.
        f: what these places add to F of the horse: the sum over pairs of one place in each half, whose paths meet
            nowhere else, of `(1/2)^(g_s + g_d - 1) (1 + F)` with F of the ancestor (Wright 1922, Am Nat 56:330).
            0 where it stands in one half alone.
    """

    animal: int
    lines: tuple[Line, ...]
    f: float

    def placed(self, places: dict[int, int]) -> "Duplicate":
        """Return the same with other numbers for the animals."""
        lines = tuple(Line(tuple(places[i] for i in line.path), line.through_sire) for line in self.lines)
        return Duplicate(places[self.animal], lines, self.f)

    @property
    def lettered(self) -> str:
        """The places with their halves: 5S x 5S x 4D."""
        return " x ".join(str(line) for line in self.lines)

    @property
    def notation(self) -> str:
        """The places as they are usually written: 3x4 for one in each half, with letters otherwise."""
        if [line.through_sire for line in self.lines] == [True, False]:
            return "x".join(str(line.generation) for line in self.lines)
        return self.lettered


def lines_of(graph: Graph, animal: int, generations: int) -> Iterator[Line]:
    """Yield every filled place of a printed pedigree, from its top to its bottom."""
    for parents, through_sire in ((graph.sire, True), (graph.dam, False)):
        yield from _walk(graph, (int(parents[animal]),), through_sire, generations)


def _walk(graph: Graph, path: tuple[int, ...], through_sire: bool, left: int) -> Iterator[Line]:  # noqa: FBT001 -- a half, not a switch
    """Yield the places behind one place and the place itself between them: its sire's above it, its dam's below."""
    animal = path[-1]
    if animal < 0 or left < 1:
        return
    yield from _walk(graph, (*path, int(graph.sire[animal])), through_sire, left - 1)
    yield Line(path, through_sire)
    yield from _walk(graph, (*path, int(graph.dam[animal])), through_sire, left - 1)


def duplicates(graph: Graph, f: Floats, animal: int, generations: int = 5) -> list[Duplicate]:
    """Return the ancestors that stand more than once within so many generations, the heaviest first.

    One that is met only behind another that is itself listed (its sire, say) is a shadow and is left out.

    Args:
        graph: the pedigree.
        f: (n,) inbreeding of every animal.
        animal: the horse.
        generations: how far back; the trade stops at five.
    """
    places: dict[int, list[Line]] = {}
    for line in lines_of(graph, animal, generations):
        places.setdefault(line.path[-1], []).append(line)
    again = {ancestor: lines for ancestor, lines in places.items() if len(lines) > 1}
    found = [
        Duplicate(ancestor, tuple(lines), _adds(lines, f))
        for ancestor, lines in again.items()
        if not _is_shadow(lines, again)
    ]
    return sorted(found, key=lambda one: (-one.f, sum(line.generation for line in one.lines) / len(one.lines)))


def _is_shadow(lines: list[Line], again: dict[int, list[Line]]) -> bool:
    """Say whether all places of an ancestor lie behind one and the same animal that is itself duplicated."""
    behind = set(lines[0].path[:-1]).intersection(*(line.path[:-1] for line in lines[1:]))
    return any(animal in again for animal in behind)


def _adds(lines: list[Line], f: Floats) -> float:
    above, below = [x for x in lines if x.through_sire], [x for x in lines if not x.through_sire]
    ancestor = lines[0].path[-1]
    return sum(
        0.5 ** (one.generation + other.generation - 1) * (1.0 + float(f[ancestor]))
        for one, other in product(above, below)
        if set(one.path) & set(other.path) == {ancestor}
    )
