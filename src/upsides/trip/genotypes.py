"""Chances of genotypes in a pedigree from tested animals, by Mendel: iterative peeling.

Each animal's chances gather what it was tested as, what its parents hand down and what its offspring show. Messages go
along the pedigree until they no longer change; without loops between tested animals the answer is exact, with loops an
approximation (Kerr and Kinghorn 1996, Journal of Animal Breeding and Genetics 113:457; Pearl 1988).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.pedigree.graph import Graph

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

ROUNDS = 60
SETTLED = 1e-12


def hardy_weinberg(share: float) -> Floats:
    """Return the shares (3,) of C/C, C/T and T/T in a population with a share of C among its alleles."""
    return np.array([share**2, 2.0 * share * (1.0 - share), (1.0 - share) ** 2])


def _mendel() -> Floats:
    """Return the chance (sire, dam, foal) of a foal's genotype, in the order C/C, C/T, T/T."""
    gives_c = np.array([1.0, 0.5, 0.0])
    s, d = gives_c[:, None], gives_c[None, :]
    return np.stack([s * d, s * (1 - d) + (1 - s) * d, (1 - s) * (1 - d)], axis=2)


MENDEL = _mendel()


@dataclass(frozen=True, slots=True)
class GeneTests:
    """Tests of animals.

    Attributes:
        animal: (tests,) places in the pedigree.
        genotype: (tests,) 0 C/C, 1 C/T, 2 T/T.
    """

    animal: Ints
    genotype: Ints


def genotype_chances(graph: Graph, tested: GeneTests, share: float, error: float) -> Floats:
    """Return the chances (n, 3) of C/C, C/T and T/T of every animal.

    Args:
        graph: the pedigree.
        tested: the tests; two of one animal that disagree leave it open.
        share: share of C among founders' alleles.
        error: share of tests that are wrong, each other genotype alike.
    """
    founder = hardy_weinberg(share)
    said = np.zeros((graph.size, 3))
    for animal, genotype in zip(tested.animal, tested.genotype, strict=True):
        likelihood = np.full(3, error / 2.0)
        likelihood[genotype] = 1.0 - error
        said[animal] += np.log(likelihood)
    child = np.flatnonzero((graph.sire >= 0) | (graph.dam >= 0))
    sire, dam = graph.sire[child].astype(np.int64), graph.dam[child].astype(np.int64)
    orphan = np.ones(graph.size, dtype=bool)
    orphan[child] = False
    said[orphan] += np.log(founder)
    to_child, to_sire, to_dam = (np.zeros((child.size, 3)) for _ in range(3))
    whole = said
    for _ in range(ROUNDS):
        whole = _gathered(said, (child, to_child), (sire, to_sire), (dam, to_dam))
        from_child = _shares(whole[child] - to_child)
        from_sire = np.where((sire >= 0)[:, None], _shares(whole[sire] - to_sire), founder)
        from_dam = np.where((dam >= 0)[:, None], _shares(whole[dam] - to_dam), founder)
        fresh = (
            np.einsum("fs,fd,sdc->fc", from_sire, from_dam, MENDEL),
            np.einsum("fd,fc,sdc->fs", from_dam, from_child, MENDEL),
            np.einsum("fs,fc,sdc->fd", from_sire, from_child, MENDEL),
        )
        before = to_child
        to_child, to_sire, to_dam = (np.log(np.maximum(message, 1e-300)) for message in fresh)
        if np.abs(to_child - before).max(initial=0.0) < SETTLED:
            break
    return _shares(_gathered(said, (child, to_child), (sire, to_sire), (dam, to_dam)))


def _gathered(said: Floats, *messages: tuple[Ints, Floats]) -> Floats:
    """Return what each animal was said to be, with all messages to it."""
    out = said.copy()
    for to, message in messages:
        real = to >= 0
        for genotype in range(3):
            out[:, genotype] += np.bincount(to[real], message[real, genotype], out.shape[0])
    return out


def _shares(log: Floats) -> Floats:
    weight = np.exp(log - log.max(axis=1, keepdims=True))
    return np.asarray(weight / weight.sum(axis=1, keepdims=True))
