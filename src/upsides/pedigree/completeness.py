"""How much of a pedigree is known, without which no inbreeding coefficient can be read."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.pedigree import walks
from upsides.pedigree.graph import Graph, generations_of, lineage

Floats = NDArray[np.float64]
Codes = NDArray[np.int32]


@dataclass(frozen=True, slots=True)
class Depth:
    """How far back each animal's pedigree goes, in generations, shape (n,).

    Args:
        longest: along its longest line.
        full: generations in which every ancestor is known.
        equivalent: equivalent of complete generations: the sum of `(1/2)^g` over the known ancestors, g
            generations back (Maignel, Boichard & Verrier 1996).
    """

    longest: Codes
    full: Codes
    equivalent: Floats


def depth(graph: Graph) -> Depth:
    """Return how far back the pedigree of every animal goes."""
    full, equivalent = np.zeros(graph.size, dtype=np.int32), np.zeros(graph.size)
    walks.depths(graph.sire, graph.dam, full, equivalent)
    return Depth(generations_of(graph.sire, graph.dam), full, equivalent)


def completeness(graph: Graph, animals: NDArray[np.integer], generations: int) -> Floats:
    """Return the share of ancestors known in each generation.

    Args:
        graph: the pedigree.
        animals: (k,) whose.
        generations: how many, parents being the first.

    Returns:
        (k, generations) shares, 1 where all `2^g` places of a generation are filled.
    """
    small, places = lineage(graph, animals)
    known = np.ones(small.size)
    out = np.empty((len(animals), generations))
    where = np.searchsorted(places, animals)
    for g in range(generations):
        padded = np.append(known, 0.0)
        known = 0.5 * (padded[small.sire] + padded[small.dam])
        out[:, g] = known[where]
    return out
