"""Inbreeding coefficients of a pedigree of any size.

F of an animal is half the relationship of its parents. All progeny of a sire are done in one pass up its
ancestors and one down to its mates (Sargolzaei, Iwaisaki & Colleau 2005, J Anim Breed Genet 122:325, after
Colleau 2002, Genet Sel Evol 34:409): with A = T D T', a column of A is `T (D (T' e))`, and only what leads to a
mate is worked out. Eight sires of one generation go together here, and the sex with fewer parents is the one
that is grouped.
"""

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from upsides.pedigree.graph import Graph, generations_of
from upsides.pedigree.sire_groups import LANES, inbreeding_by_tracing, inbreeding_of_groups

Floats = NDArray[np.float64]
Codes = NDArray[np.int32]


def inbreeding(graph: Graph) -> Floats:
    """Return (n,) Wright's inbreeding coefficient of every animal; 0 where a parent is unknown."""
    sire, dam = graph.sire, graph.dam
    if _distinct(dam) < _distinct(sire):
        sire, dam = dam, sire
    out = np.zeros(graph.size)
    both = np.flatnonzero((sire >= 0) & (dam >= 0)).astype(np.int32)
    if both.size == 0:
        return out
    parents, code = _parents(graph)
    group = np.argsort(code[sire[both]], kind="stable")
    child = both[group]
    mating = np.column_stack([code[sire[child]], code[dam[child]], code[child]]).astype(np.int32)
    begin = np.flatnonzero(np.diff(mating[:, 0], prepend=-1)).astype(np.int64)
    start = np.append(begin, child.size)
    depth = generations_of(graph.sire, graph.dam)[parents[mating[begin, 0]]]
    inbreeding_of_groups(code[sire[parents]], code[dam[parents]], _blocks(depth), start, mating, child, out)
    return out


def traced_inbreeding(graph: Graph) -> Floats:
    """Return the same by tracing each animal's ancestors (Meuwissen & Luo 1992, Genet Sel Evol 24:305).

    Slow on large pedigrees; kept to check the other and to measure it against.
    """
    out = np.zeros(graph.size)
    inbreeding_by_tracing(graph.sire, graph.dam, out)
    return out


def mendelian_share(graph: Graph, f: Floats) -> Floats:
    """Return (n,) each animal's own part of the additive variance: D of `A = T D T'`.

    `1/2 - (F_s + F_d) / 4` with both parents known, `3/4 - F_p / 4` with one, 1 with none.
    """
    padded = np.append(f, -1.0)
    share: Floats = 1.0 - 0.25 * (1.0 + padded[graph.sire]) - 0.25 * (1.0 + padded[graph.dam])
    return share


def _distinct(parents: Codes) -> int:
    return int(np.count_nonzero(np.bincount(parents[parents >= 0]))) if (parents >= 0).any() else 0


def _parents(graph: Graph) -> tuple[NDArray[np.int64], Codes]:
    """Return who has offspring, by generation, and each animal's place among them, -1 for none (n + 1,)."""
    depth = generations_of(graph.sire, graph.dam)
    is_parent = np.zeros(graph.size, dtype=np.bool_)
    for parents in (graph.sire, graph.dam):
        is_parent[parents[parents >= 0]] = True
    places = np.flatnonzero(is_parent)
    places = places[np.argsort(depth[places], kind="stable")]
    code = np.full(graph.size + 1, -1, dtype=np.int32)
    code[places] = np.arange(places.size, dtype=np.int32)
    return places, code


def _blocks(depth: Codes) -> NDArray[np.int64]:
    """Cut sires, sorted by generation, into blocks of at most LANES of one generation each."""
    edges = np.append(np.flatnonzero(np.diff(depth, prepend=-1)), depth.size)
    blocks = [
        (low, min(low + LANES, end)) for begin, end in pairwise(edges.tolist()) for low in range(begin, end, LANES)
    ]
    return np.array(blocks, dtype=np.int64).reshape(-1, 2)
