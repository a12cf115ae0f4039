"""Who is how much related to whom, and who gave how much to a group.

Everything rests on A = T D T' (Henderson 1976, Biometrics 32:69; Colleau 2002): A is never stored, products with it
are one pass up the pedigree and one down.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.pedigree import walks
from upsides.pedigree.graph import Graph, lineage
from upsides.pedigree.inbreeding import mendelian_share

Floats = NDArray[np.float64]
Places = NDArray[np.integer]
COLUMNS = 16


def tabular(graph: Graph) -> Floats:
    """Return the whole relationship matrix (n, n) by Henderson's tabular rule; for small pedigrees.

    `a_ij = (a_i,sire(j) + a_i,dam(j)) / 2`, `a_jj = 1 + a_sire(j),dam(j) / 2`.
    """
    a = np.zeros((graph.size, graph.size))
    for j in range(graph.size):
        s, d = int(graph.sire[j]), int(graph.dam[j])
        for parent in (s, d):
            if parent >= 0:
                a[:j, j] += 0.5 * a[:j, parent]
        a[j, :j] = a[:j, j]
        a[j, j] = 1.0 + (0.5 * a[s, d] if s >= 0 and d >= 0 else 0.0)
    return a


def times_relationship(graph: Graph, f: Floats, values: Floats) -> Floats:
    """Return `A values`.

    Args:
        graph: the pedigree.
        f: (n,) inbreeding of every animal.
        values: (n, c).
    """
    out = np.array(values, dtype=np.float64, order="C")
    walks.gather(graph.sire, graph.dam, out)
    out *= mendelian_share(graph, f)[:, None]
    walks.hand_down(graph.sire, graph.dam, out)
    return out


def relationships(graph: Graph, f: Floats, group: Places) -> Floats:
    """Return (n,) the mean additive relationship of every animal to a group, or to one animal."""
    values = np.zeros((graph.size, 1))
    np.add.at(values[:, 0], group, 1.0 / len(group))
    return times_relationship(graph, f, values)[:, 0]


def relationship(graph: Graph, f: Floats, one: int, other: int) -> float:
    """Return the additive relationship of two animals: twice their coancestry."""
    return float(relationship_matrix(graph, f, np.array([one, other]))[0, 1])


def relationship_matrix(graph: Graph, f: Floats, animals: Places) -> Floats:
    """Return the relationships (k, k) among some animals."""
    small, places = lineage(graph, animals)
    where = np.searchsorted(places, animals)
    own = f[places]
    out = np.empty((where.size, where.size))
    for low in range(0, where.size, COLUMNS):
        part = where[low : low + COLUMNS]
        values = np.zeros((small.size, part.size))
        values[part, np.arange(part.size)] = 1.0
        out[:, low : low + COLUMNS] = times_relationship(small, own, values)[where]
    return out


def wright_relationship(graph: Graph, f: Floats, one: int, other: int) -> float:
    """Return Wright's coefficient of relationship: `a_ij / sqrt(a_ii a_jj)`."""
    return relationship(graph, f, one, other) / float(np.sqrt((1.0 + f[one]) * (1.0 + f[other])))


@dataclass(frozen=True, slots=True)
class Contributions:
    """Whose blood a group carries.

    Args:
        share: (n,) expected share of the group's genes that came through each animal; members count as
            themselves. The shares of founders and `unknown` add up to 1.
        unknown: share that came from parents that are not known of animals one of whose parents is.
    """

    share: Floats
    unknown: float


def contributions(graph: Graph, group: Places) -> Contributions:
    """Return what every ancestor gave to a group: a half a generation, summed over all lines."""
    values = np.zeros((graph.size, 1))
    np.add.at(values[:, 0], group, 1.0 / len(group))
    walks.gather(graph.sire, graph.dam, values)
    share = values[:, 0]
    half_known = (graph.sire >= 0) != (graph.dam >= 0)
    return Contributions(share, float(0.5 * share[half_known].sum()))
