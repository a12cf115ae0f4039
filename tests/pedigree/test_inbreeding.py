"""Inbreeding and relationship against textbooks, published pedigrees, and the tabular method."""

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from pedigree_worlds import random_graph
from upsides.errors import PedigreeLoopError, PedigreeOrderError
from upsides.pedigree import (
    Graph,
    ancestors,
    contributions,
    descendants,
    graph_of,
    inbreeding,
    lineage,
    mendelian_share,
    progeny,
    read_pedigree,
    relationship,
    relationship_matrix,
    relationships,
    tabular,
    wright_relationship,
)
from upsides.pedigree.inbreeding import traced_inbreeding
from upsides.pedigree.prediction.inverse import mendelian_precision, relationship_inverse


def graph(*parents: tuple[int, int]) -> Graph:
    sire, dam = np.array(parents, dtype=np.int32).T
    return Graph(np.ascontiguousarray(sire), np.ascontiguousarray(dam))


# Mrode (2014), table 2.1 and section 2.3: 3 = 1 x 2, 4 = 1 x ?, 5 = 4 x 3, 6 = 5 x 2.
MRODE = graph((-1, -1), (-1, -1), (0, 1), (0, -1), (3, 2), (4, 1))
MRODE_A = [
    [1, 0, 0.5, 0.5, 0.5, 0.25],
    [0, 1, 0.5, 0, 0.25, 0.625],
    [0.5, 0.5, 1, 0.25, 0.625, 0.5625],
    [0.5, 0, 0.25, 1, 0.625, 0.3125],
    [0.5, 0.25, 0.625, 0.625, 1.125, 0.6875],
    [0.25, 0.625, 0.5625, 0.3125, 0.6875, 1.125],
]
MRODE_INVERSE = [
    [1.833333, 0.5, -1, -0.666667, 0, 0],
    [0.5, 2.033333, -1, 0, 0.533333, -1.066667],
    [-1, -1, 2.5, 0.5, -1, 0],
    [-0.666667, 0, 0.5, 1.833333, -1, 0],
    [0, 0.533333, -1, -1, 2.533333, -1.066667],
    [0, -1.066667, 0, 0, -1.066667, 2.133333],
]


def test_textbook_pedigree() -> None:
    """Mrode (2014) table 2.1: F5 = F6 = 0.125, A and D as printed, and the inverse of A with inbreeding in it."""
    f = inbreeding(MRODE)
    assert f.tolist() == [0, 0, 0, 0, 0.125, 0.125]
    assert tabular(MRODE).tolist() == MRODE_A
    assert relationship_matrix(MRODE, f, np.arange(6)).tolist() == MRODE_A
    assert mendelian_share(MRODE, f).tolist() == [1, 1, 0.5, 0.75, 0.5, 0.46875]
    found = relationship_inverse(MRODE, mendelian_precision(MRODE)).toarray()
    assert found == pytest.approx(np.array(MRODE_INVERSE), abs=5e-7)
    assert found @ np.array(MRODE_A) == pytest.approx(np.eye(6), abs=1e-12)


@pytest.mark.parametrize(
    ("parents", "f"),
    [
        ([(-1, -1), (-1, -1), (0, 1), (0, 2)], "1/4"),  # sire to own daughter
        ([(-1, -1), (-1, -1), (0, 1), (0, 1), (2, 3)], "1/4"),  # full brother to sister
        ([(-1, -1), (-1, -1), (-1, -1), (0, 1), (0, 2), (3, 4)], "1/8"),  # half brother to sister
        ([(-1, -1), (-1, -1), (0, 1), (0, 1), (-1, -1), (4, 3), (2, 5)], "1/8"),  # uncle to niece
        ([(-1, -1), (-1, -1), (0, 1), (0, 1), (-1, 2), (-1, 3), (4, 5)], "1/16"),  # first cousins
        ([(-1, -1), (0, -1), (0, -1), (1, -1), (-1, 2), (3, 4)], "1/32"),  # half first cousins
    ],
)
def test_textbook_matings(parents: list[tuple[int, int]], f: str) -> None:
    """The matings of every textbook (Falconer & Mackay 1996, table 5.1 and chapter 5) have their F."""
    assert inbreeding(graph(*parents))[-1] == float(Fraction(f))


def test_continued_full_sib_mating() -> None:
    """Ten generations of brother to sister: F = 1/4, 3/8, 1/2, 19/32 ... (Falconer & Mackay 1996, table 5.1)."""
    parents = [(-1, -1), (-1, -1), (0, 1), (0, 1)]
    for generation in range(10):
        last = 2 * generation + 2
        parents += [(last, last + 1)] * 2
    printed = ["1/4", "3/8", "1/2", "19/32", "43/64", "47/64", "201/256", "423/512", "55/64", "1815/2048"]
    assert inbreeding(graph(*parents))[4::2].tolist() == [float(Fraction(text)) for text in printed]


def test_continued_half_sib_mating() -> None:
    """One male to his half sisters, again and again: F = 1/8, 7/32, 39/128, 195/512 (the same table)."""
    parents = [(-1, -1)] + [(-1, -1)] * 8
    males, females = 0, list(range(1, 9))
    for _ in range(5):
        first = len(parents)
        parents += [(males, female) for female in females]
        males, females = first, [*range(first + 1, first + 8)]
        females.append(females[-1])
    found = inbreeding(graph(*parents))
    assert [found[i] for i in (17, 25, 33, 41)] == [float(Fraction(x)) for x in ("1/8", "7/32", "39/128", "195/512")]


@pytest.mark.parametrize("seed", range(12))
def test_agrees_with_the_tabular_method(seed: int) -> None:
    """On random pedigrees, with unknown parents and overlapping generations, all three methods agree to 1e-12."""
    rng = np.random.default_rng(seed)
    world = random_graph(rng, 250, known=(0.6, 0.9, 1.0)[seed % 3], recent=(0, 12, 40)[seed % 3 - 1])
    f, a = inbreeding(world), tabular(world)
    assert np.diag(a) - 1 == pytest.approx(f, abs=1e-12)
    assert traced_inbreeding(world) == pytest.approx(f, abs=1e-12)
    some = rng.choice(world.size, 20, replace=False)
    assert relationship_matrix(world, f, some) == pytest.approx(a[np.ix_(some, some)], abs=1e-12)
    assert relationships(world, f, some) == pytest.approx(a[:, some].mean(axis=1), abs=1e-12)
    one, other = int(some[0]), int(some[1])
    assert relationship(world, f, one, other) == pytest.approx(a[one, other], abs=1e-12)
    assert wright_relationship(world, f, one, one) == pytest.approx(1.0, abs=1e-12)
    inverse = relationship_inverse(world, mendelian_precision(world)).toarray()
    assert inverse @ a == pytest.approx(np.eye(world.size), abs=1e-9)


def test_more_sires_than_dams() -> None:
    """F is the same when sires and dams change places."""
    world = random_graph(np.random.default_rng(5), 400, recent=25)
    assert inbreeding(Graph(world.dam, world.sire)) == pytest.approx(inbreeding(world), abs=1e-12)


def test_large_published_pedigree(studbooks: Path) -> None:
    """6,547 cattle (R package pedigreemm 0.3-5, pedCows): 612 inbred, sum 11.920166, largest 0.2578125, cow 6206."""
    cows = read_pedigree(studbooks / "holstein_pedcows.csv.gz").pedigree
    f = inbreeding(cows.graph)
    assert (cows.graph.size, int((f > 0).sum())) == (6547, 612)
    assert f.sum() == pytest.approx(11.920166, abs=5e-7)
    assert (f.max(), cows.keys[int(f.argmax())]) == (0.2578125, "6206")
    assert (int((cows.graph.sire < 0).sum()), int((cows.graph.dam < 0).sum())) == (1979, 2699)


@pytest.mark.parametrize("name", ["gazelle_dorcas", "aoudad_arrui", "przewalski_horse_alberta"])
def test_studbooks(studbooks: Path, name: str) -> None:
    """In heavily inbred studbooks (R packages purgeR 1.8.2 and sped 0.3) three methods give one F."""
    world = read_pedigree(studbooks / f"{name}.csv.gz").pedigree.graph
    f = inbreeding(world)
    assert f.max() > 0.3
    assert np.diag(tabular(world)) - 1 == pytest.approx(f, abs=1e-12)
    assert traced_inbreeding(world) == pytest.approx(f, abs=1e-12)


def test_contributions_of_founders_add_up() -> None:
    """Founders and parents not known give the whole of a group's genes, and each the half of it a generation."""
    world = random_graph(np.random.default_rng(3), 300, known=0.8, recent=30)
    group = np.arange(250, 300)
    given = contributions(world, group)
    assert given.share[world.founders].sum() + given.unknown == pytest.approx(1.0, abs=1e-12)
    one = contributions(MRODE, np.array([5]))
    assert one.share.tolist() == [0.25, 0.625, 0.25, 0.25, 0.5, 1.0]
    assert one.unknown == 0.125


def test_ancestors_and_offspring() -> None:
    """Look-ups find parents' parents, children's children, and the graph of one animal's own ancestors."""
    assert np.flatnonzero(ancestors(MRODE, np.array([4]))).tolist() == [0, 1, 2, 3, 4]
    assert np.flatnonzero(descendants(MRODE, np.array([3]))).tolist() == [3, 4, 5]
    assert progeny(MRODE, 0).tolist() == [2, 3]
    assert progeny(MRODE, 5).tolist() == []
    small, places = lineage(MRODE, np.array([3]))
    assert (places.tolist(), small.sire.tolist(), small.dam.tolist()) == ([0, 3], [-1, 0], [-1, -1])


def test_any_order_is_put_in_order() -> None:
    """Animals listed offspring first come out parents first, with everybody's parents kept."""
    sire, dam = np.array([1, 3, -1, -1]), np.array([2, -1, 3, -1])
    found, order = graph_of(sire, dam)
    place = {int(animal): i for i, animal in enumerate(order)}
    for animal in range(4):
        assert found.sire[place[animal]] == place.get(int(sire[animal]), -1)
        assert found.dam[place[animal]] == place.get(int(dam[animal]), -1)


def test_loops_and_disorder_are_refused() -> None:
    """Nobody is its own ancestor, and a graph whose parents come after is refused rather than misread."""
    with pytest.raises(PedigreeLoopError, match="own ancestors"):
        graph_of(np.array([1, 0]), np.array([-1, -1]))
    with pytest.raises(PedigreeOrderError, match="does not stand before"):
        graph((1, -1), (-1, -1))
    with pytest.raises(PedigreeOrderError, match="as many"):
        Graph(np.zeros(2, dtype=np.int32), np.zeros(3, dtype=np.int32))


def test_nobody_and_only_founders() -> None:
    """No animals, and animals without parents, are answered with nothing and with nought."""
    assert inbreeding(graph_of(np.zeros(0, dtype=int), np.zeros(0, dtype=int))[0]).size == 0
    assert inbreeding(graph((-1, -1), (-1, -1))).tolist() == [0, 0]
