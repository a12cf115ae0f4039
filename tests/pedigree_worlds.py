"""Random pedigrees that tests share."""

import numpy as np

from upsides.pedigree import Graph, graph_of


def random_graph(rng: np.random.Generator, animals: int, *, known: float = 0.9, recent: int = 0) -> Graph:
    """Return a random pedigree: each parent is known with a chance, out of all or the `recent` last before it."""
    sexes = rng.random(animals) < 0.3
    sire, dam = np.full(animals, -1), np.full(animals, -1)
    for i in range(2, animals):
        low = max(0, i - recent) if recent else 0
        for parents, wanted in ((sire, True), (dam, False)):
            able = low + np.flatnonzero(sexes[low:i] == wanted)
            if able.size and rng.random() < known:
                parents[i] = rng.choice(able)
    return graph_of(sire, dam)[0]


def generations_graph(rng: np.random.Generator, generations: int, size: int, sires: int, dams: int) -> Graph:
    """Return generations apart, each bred from so many sires and dams of the one before, as horses are."""
    sire, dam = (np.full(generations * size, -1, dtype=np.int32) for _ in range(2))
    for first in range(size, generations * size, size):
        born = slice(first, first + size)
        sire[born] = rng.choice(first - size + rng.choice(size // 2, sires, replace=False), size)
        dam[born] = rng.choice(first - size // 2 + rng.choice(size // 2, dams, replace=False), size)
    return Graph(sire, dam)
