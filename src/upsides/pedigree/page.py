"""A printed pedigree: an animal, its ancestors place by place, and what these places alone say of it."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from upsides.pedigree.about import about
from upsides.pedigree.completeness import Depth, depth
from upsides.pedigree.graph import Graph, lineage
from upsides.pedigree.inbreeding import inbreeding
from upsides.pedigree.notation import Duplicate
from upsides.pedigree.pedigree import Pedigree

UNKNOWN = -1


@dataclass(frozen=True, slots=True)
class Page:
    """A printed pedigree.

    Args:
        places: the animal and its ancestors, generation by generation, each from the page's top to its bottom: behind
            place i stand its sire, 2i + 1, and its dam, 2i + 2. `2^(generations + 1) - 1` of them, -1 where unknown.
        completeness: share of ancestors known in each generation, parents first.
        duplicates: ancestors that stand more than once on the page, what adds most to the inbreeding first.
        within: inbreeding from the page alone: what its duplicates add (Wright 1922 with no line longer than the
            page), their own inbreeding being that of their ancestors on the page.
        f: inbreeding over all that is known.
        depth: how far back that goes, arrays of length 1.
    """

    places: tuple[int, ...]
    completeness: NDArray[np.float64]
    duplicates: tuple[Duplicate, ...]
    within: float
    f: float
    depth: Depth


def page(pedigree: Pedigree, animal: int, generations: int = 5) -> Page:
    """Print a pedigree.

    Args:
        pedigree: the pedigree.
        animal: whose, its place in it.
        generations: how many, parents being the first; the trade prints five.
    """
    places = [animal]
    for i in range(2**generations - 1):
        one = places[i]
        places += [int(pedigree.graph.sire[one]), int(pedigree.graph.dam[one])] if one >= 0 else [UNKNOWN] * 2
    shown = about(replace(pedigree, graph=_shown(pedigree.graph, places)), animal, generations)
    own, _ = lineage(pedigree.graph, np.array([animal]))
    reach = depth(own)
    return Page(
        tuple(places),
        shown.completeness,
        shown.duplicates,
        sum(one.f for one in shown.duplicates),
        float(inbreeding(own)[-1]),
        Depth(reach.longest[-1:], reach.full[-1:], reach.equivalent[-1:]),
    )


def _shown(graph: Graph, places: list[int]) -> Graph:
    """Return the pedigree with no other links than those between the places."""
    sire, dam = np.full(graph.size, UNKNOWN, dtype=np.int32), np.full(graph.size, UNKNOWN, dtype=np.int32)
    for i in range(len(places) // 2):
        if places[i] >= 0:
            sire[places[i]], dam[places[i]] = places[2 * i + 1], places[2 * i + 2]
    return Graph(sire, dam)
