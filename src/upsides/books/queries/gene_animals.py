"""Which animals gene tests of a yard speak of: its horses and their parents, each once. Loads compiled code."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import Final

import numpy as np

from upsides.books.queries.genes import Bred
from upsides.pedigree.graph import Graph, graph_of
from upsides.results.naming import key_of, without_suffix

SIRE, DAM = "sire", "dam"
BRED: Final = 3
"""Years that a horse of the yard must be older than another to be the parent that bears its name."""
MALE: Final = frozenset({"colt", "horse", "gelding", "ridgling"})

Animal = tuple[str, int | str]
"""A horse of the yard ("horse" and its number), or a parent ("sire" or "dam" and its name as compared)."""


class Animals:
    """The yard's horses and their parents, each animal once.

    Parents are told apart by name, and by country where two countries bear one name; a horse of the yard that is old
    enough and of the right sex is the parent that bears its name.
    """

    def __init__(self, string: Iterable[Bred]) -> None:
        self.horses: Mapping[int, Bred] = {horse.pk: horse for horse in string}
        self._countries: dict[tuple[str, str], set[str]] = defaultdict(set)
        self._own: dict[str, list[Bred]] = defaultdict(list)
        for horse in self.horses.values():
            self._own[without_suffix(key_of(horse.name))].append(horse)
            for side in (SIRE, DAM):
                key = key_of(getattr(horse, side))
                if key != (bare := without_suffix(key)):
                    self._countries[side, bare].add(key)

    def of(self, horse: Bred, whom: str) -> Animal | None:
        """Return which animal a horse itself, its sire or its dam is; None for a parent without a name."""
        if whom == "horse":
            return "horse", horse.pk
        key = key_of(getattr(horse, whom))
        bare = without_suffix(key)
        if not bare:
            return None
        own = [one for one in self._own.get(bare, ()) if _may_be(one, whom, horse)]
        if len(own) == 1:
            return "horse", own[0].pk
        return whom, key if len(self._countries[whom, bare]) > 1 else bare

    @property
    def parents(self) -> dict[Animal, tuple[Animal | None, Animal | None]]:
        """Every animal with its sire and its dam."""
        found: dict[Animal, tuple[Animal | None, Animal | None]] = {}
        for horse in self.horses.values():
            pair = self.of(horse, SIRE), self.of(horse, DAM)
            found["horse", horse.pk] = pair
            for parent in pair:
                if parent:
                    found.setdefault(parent, (None, None))
        return found

    def graph(self) -> tuple[Graph, dict[Animal, int]]:
        """Return who is out of whom, and where each animal stands in it."""
        parents = self.parents
        row: dict[Animal | None, int] = {None: -1} | {animal: number for number, animal in enumerate(parents)}
        sire, dam = (np.array([row[pair[side]] for pair in parents.values()], dtype=np.int64) for side in (0, 1))
        graph, order = graph_of(sire, dam)
        stands = np.argsort(order)
        return graph, {animal: int(stands[number]) for number, animal in enumerate(parents)}


def _may_be(parent: Bred, side: str, foal: Bred) -> bool:
    return parent.foaled + BRED <= foal.foaled and (parent.sex in MALE) == (side == SIRE)
