"""A pedigree as whole numbers: for each animal its sire and its dam, parents before offspring."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from upsides.errors import PedigreeLoopError, PedigreeOrderError
from upsides.errors.wording import gettext as _
from upsides.pedigree import walks

Codes = NDArray[np.int32]
Mask = NDArray[np.bool_]
UNKNOWN = -1


@dataclass(frozen=True)
class Graph:
    """Who is out of whom.

    Args:
        sire: (n,) place of each animal's sire in these arrays, -1 where unknown.
        dam: (n,) place of its dam.

    Raises:
        PedigreeOrderError: lengths differ, or a parent does not stand before its offspring.
    """

    sire: Codes
    dam: Codes

    def __post_init__(self) -> None:
        if self.sire.shape != self.dam.shape or self.sire.ndim != 1:
            raise PedigreeOrderError(_("there are not as many sires as dams"))
        place = np.arange(self.size)
        wrong = (self.sire >= place) | (self.dam >= place) | (self.sire < UNKNOWN) | (self.dam < UNKNOWN)
        if wrong.any():
            raise PedigreeOrderError(
                _("a parent of animal {number} does not stand before it", number=int(np.argmax(wrong)))
            )

    @property
    def size(self) -> int:
        """Number of animals."""
        return int(self.sire.size)

    @cached_property
    def founders(self) -> Mask:
        """(n,) whether neither parent is known."""
        found: Mask = (self.sire == UNKNOWN) & (self.dam == UNKNOWN)
        return found

    @cached_property
    def offspring(self) -> tuple[NDArray[np.int64], Codes]:
        """Places where each animal's offspring begin (n + 1,), and the offspring, in order of age."""
        parents = np.concatenate([self.sire, self.dam])
        children = np.tile(np.arange(self.size, dtype=np.int32), 2)
        known = np.flatnonzero(parents >= 0)
        known = known[np.lexsort((children[known], parents[known]))]
        counts = np.bincount(parents[known], minlength=self.size)
        return np.concatenate([[0], np.cumsum(counts)]).astype(np.int64), children[known]


def graph_of(sire: NDArray[np.integer], dam: NDArray[np.integer]) -> tuple[Graph, NDArray[np.int64]]:
    """Order animals so that parents stand before offspring, each generation in the order given.

    Args:
        sire: (n,) place of each animal's sire, -1 where unknown, in any order.
        dam: (n,) place of its dam.

    Returns:
        The graph, and (n,) which of the animals given stands at each place of it.

    Raises:
        PedigreeLoopError: somebody is its own ancestor.
    """
    sires, dams = np.ascontiguousarray(sire, dtype=np.int32), np.ascontiguousarray(dam, dtype=np.int32)
    depth = generations_of(sires, dams)
    if (depth < 0).any():
        raise PedigreeLoopError(int((depth < 0).sum()), [])
    order = np.argsort(depth, kind="stable")
    place = np.empty(order.size + 1, dtype=np.int32)
    place[order] = np.arange(order.size, dtype=np.int32)
    place[-1] = UNKNOWN
    return Graph(place[sires[order]], place[dams[order]]), order


def generations_of(sire: Codes, dam: Codes) -> Codes:
    """Return each animal's longest line back to a founder, in generations; -1 behind and in loops."""
    depth = np.full(sire.size, UNKNOWN, dtype=np.int32)
    walks.generations(sire, dam, depth)
    return depth


def progeny(graph: Graph, animal: int) -> Codes:
    """Return the offspring of an animal, the oldest first."""
    start, children = graph.offspring
    found: Codes = children[start[animal] : start[animal + 1]]
    return found


def ancestors(graph: Graph, animals: NDArray[np.integer]) -> Mask:
    """Return (n,) who is an ancestor of one of these animals, or one of them."""
    mask = np.zeros(graph.size, dtype=np.bool_)
    mask[animals] = True
    walks.mark_ancestors(graph.sire, graph.dam, mask)
    return mask


def descendants(graph: Graph, animals: NDArray[np.integer]) -> Mask:
    """Return (n,) who descends from one of these animals, or is one of them."""
    mask = np.zeros(graph.size, dtype=np.bool_)
    mask[animals] = True
    walks.mark_descendants(graph.sire, graph.dam, mask)
    return mask


def kept(graph: Graph, mask: Mask) -> tuple[Graph, NDArray[np.int64]]:
    """Return the graph of some animals alone, and their places in the whole; others become unknown."""
    places = np.flatnonzero(mask)
    code = np.full(graph.size + 1, UNKNOWN, dtype=np.int32)
    code[places] = np.arange(places.size, dtype=np.int32)
    return Graph(code[graph.sire[places]], code[graph.dam[places]]), places


def lineage(graph: Graph, animals: NDArray[np.integer]) -> tuple[Graph, NDArray[np.int64]]:
    """Return the graph of some animals and all their ancestors, and their places in the whole."""
    return kept(graph, ancestors(graph, animals))
