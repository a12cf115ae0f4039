"""Chances of genotypes, held against Mendel's law and against every possible pedigree counted out."""

from itertools import product

import numpy as np
import pytest

from upsides.pedigree import graph_of
from upsides.trip.genotypes import MENDEL, GeneTests, genotype_chances

SHARE, SURE = 0.47, 1e-12


def _chances(sire: list[int], dam: list[int], tested: dict[int, int], error: float = SURE) -> np.ndarray:
    graph, order = graph_of(np.array(sire), np.array(dam))
    place = np.argsort(order)
    tests = GeneTests(place[np.array(list(tested), dtype=np.int64)], np.array(list(tested.values()), dtype=np.int64))
    return genotype_chances(graph, tests, SHARE, error)[place]


def test_founders_are_in_the_populations_shares() -> None:
    """Untested founders have 0.2209, 0.4982, 0.2809 of C/C, C/T, T/T at a share of C of 0.47 (Hardy and Weinberg)."""
    assert _chances([-1], [-1], {})[0] == pytest.approx([0.2209, 0.4982, 0.2809], abs=1e-10)


def test_foal_of_two_carriers() -> None:
    """C/T by C/T gives a quarter, a half, a quarter (Mendel)."""
    assert _chances([-1, -1, 0], [-1, -1, 1], {0: 1, 1: 1})[2] == pytest.approx([0.25, 0.5, 0.25], abs=1e-9)


def test_foal_of_a_carrier_and_an_unknown_mare() -> None:
    """C/T by a mare of the population gives 0.235, 0.5, 0.265 at a share of 0.47, whether she is listed or not."""
    for dam in (1, -1):
        found = _chances([-1, -1, 0], [-1, -1, dam], {0: 1})[2]
        assert found == pytest.approx([0.235, 0.5, 0.265], abs=1e-9)


def test_offspring_tell_of_their_parent() -> None:
    """A sire with a C/C and a T/T foal carries both alleles for certain."""
    assert _chances([-1, 0, 0], [-1, -1, -1], {1: 0, 2: 2})[0] == pytest.approx([0.0, 1.0, 0.0], abs=1e-9)


def _counted(sire: list[int], dam: list[int], tested: dict[int, int], error: float) -> np.ndarray:
    """Return the chances by summing over every genotype of every animal."""
    founder = np.array([SHARE**2, 2 * SHARE * (1 - SHARE), (1 - SHARE) ** 2])
    n, total = len(sire), np.zeros((len(sire), 3))
    for world in product(range(3), repeat=n):
        weight = 1.0
        for i, genotype in enumerate(world):
            from_sire = np.eye(3)[world[sire[i]]] if sire[i] >= 0 else founder
            from_dam = np.eye(3)[world[dam[i]]] if dam[i] >= 0 else founder
            known = sire[i] >= 0 or dam[i] >= 0
            weight *= (from_sire @ MENDEL[:, :, genotype] @ from_dam) if known else founder[genotype]
            if i in tested:
                weight *= 1.0 - error if tested[i] == genotype else error / 2.0
        for i, genotype in enumerate(world):
            total[i, genotype] += weight
    return total / total.sum(axis=1, keepdims=True)


@pytest.mark.parametrize("seed", range(6))
def test_agrees_with_counting_every_world(seed: int) -> None:
    """In random families without loops the chances are those of summing over all genotypes of all animals."""
    rng = np.random.default_rng(seed)
    # two grandparents, their foal, its mate, two foals of those (one out of another mare), a foal of one of them
    sire, dam = [-1, -1, 0, -1, 2, 2, 4], [-1, -1, 1, -1, 3, -1, -1]
    tested = {int(i): int(rng.integers(3)) for i in rng.choice(7, 3, replace=False)}
    found = _chances(sire, dam, tested, error=0.02)
    assert found == pytest.approx(_counted(sire, dam, tested, 0.02), abs=1e-8)


def test_a_test_that_cannot_be_true_is_doubted() -> None:
    """A foal tested T/T by a sire tested C/C leaves both doubtful instead of failing."""
    found = _chances([-1, 0], [-1, -1], {0: 0, 1: 2}, error=0.005)
    assert np.isfinite(found).all()
    assert 0.2 < found[0, 0] < 0.9


def test_mendels_table_is_one() -> None:
    """Whatever the parents, some genotype is born, and swapping the parents changes nothing."""
    assert MENDEL.sum(axis=2) == pytest.approx(np.ones((3, 3)))
    assert np.transpose(MENDEL, (1, 0, 2)) == pytest.approx(MENDEL)
