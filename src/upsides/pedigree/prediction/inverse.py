"""The inverse of the relationship matrix, sparse because each animal meets only its parents and mates.

`A^-1 = (T^-1)' D^-1 T^-1` with rows of T^-1 that hold 1 for the animal and -1/2 for each parent (Henderson 1976,
Biometrics 32:69; with inbreeding in D: Quaas 1976, Biometrics 32:949).
"""

from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray
from scipy import sparse

from upsides.pedigree.graph import Graph
from upsides.pedigree.inbreeding import inbreeding, mendelian_share

Floats = NDArray[np.float64]
Codes = NDArray[np.int32]


def mendelian_precision(graph: Graph) -> Floats:
    """Return (n,) `1 / d`: the inverse of each animal's own part of the additive variance."""
    precision: Floats = 1.0 / mendelian_share(graph, inbreeding(graph))
    return precision


def parent_gaps(graph: Graph) -> Any:
    """Return T^-1 (n, n), sparse: what is an animal's own is it less half of each parent."""
    places = np.arange(graph.size)
    rows, columns = np.tile(places, 3), np.concatenate([places, graph.sire, graph.dam])
    values = np.repeat([1.0, -0.5, -0.5], graph.size)
    known = columns >= 0
    return sparse.csr_array((values[known], (rows[known], columns[known])), shape=(graph.size, graph.size))


def relationship_inverse(graph: Graph, precision: Floats) -> Any:
    """Return A^-1 (n, n), sparse.

    Args:
        graph: the pedigree.
        precision: (n,) of `mendelian_precision`.
    """
    gaps = parent_gaps(graph)
    return sparse.csr_array(gaps.T @ sparse.diags_array(precision) @ gaps)


@njit("void(i4[::1], i4[::1], f8[::1], f8[:,::1], f8[:,::1])", cache=True, nogil=True)
def add_inverse_times(sire: Codes, dam: Codes, precision: Floats, values: Floats, out: Floats) -> None:
    """Add `A^-1 values` to `out` (n, c) without storing A^-1."""
    for i in range(sire.size):
        for c in range(values.shape[1]):
            gap = values[i, c]
            for parent in (sire[i], dam[i]):
                if parent >= 0:
                    gap -= 0.5 * values[parent, c]
            gap *= precision[i]
            out[i, c] += gap
            for parent in (sire[i], dam[i]):
                if parent >= 0:
                    out[parent, c] -= 0.5 * gap


@njit("void(i4[::1], i4[::1], f8[::1], f8[::1])", cache=True, nogil=True)
def add_inverse_diagonal(sire: Codes, dam: Codes, precision: Floats, out: Floats) -> None:
    """Add the diagonal of A^-1 to `out` (n,)."""
    for i in range(sire.size):
        out[i] += precision[i]
        if sire[i] >= 0 and sire[i] == dam[i]:
            out[sire[i]] += precision[i]
            continue
        for parent in (sire[i], dam[i]):
            if parent >= 0:
                out[parent] += 0.25 * precision[i]
