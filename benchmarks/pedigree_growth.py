"""Inbreeding of up to 1 million animals beside plain ancestor tracing; genetic prediction of up to 200 thousand."""

import multiprocessing
import resource
import time
from typing import Any

import numpy as np

from upsides.pedigree import Graph, depth, inbreeding
from upsides.pedigree.inbreeding import traced_inbreeding
from upsides.pedigree.prediction import Model, Variances, predict

GENERATIONS = 15
SIZES = (10_000, 100_000, 1_000_000)
TRACED = 100_000
"""Animals up to which each one's ancestors are traced, to compare."""
PREDICTED = (20_000, 200_000)
MOTHERS, FATHERS = 2.7, 67
"""In each generation one animal in so many becomes a dam, one in so many a sire."""


def run() -> None:
    """Measure each size in a process of its own and print what it took."""
    for animals in SIZES:
        _alone(measure_inbreeding, animals)
    for animals in PREDICTED:
        _alone(measure_prediction, animals)


def _alone(measure: Any, animals: int) -> None:
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        pool.apply(measure, (animals,))


def measure_inbreeding(animals: int) -> None:
    """Work out F of all animals and print one paragraph."""
    inbreeding(bred(3, 10, 1))  # compile first
    graph = bred(GENERATIONS, animals // GENERATIONS + 1, 2)
    began = time.perf_counter()
    f = inbreeding(graph)
    seconds = time.perf_counter() - began
    known = depth(graph).equivalent
    print(f"{graph.size:,} animals: F in {seconds:.2f} s, peak {_peak():.2f} GiB, mean {f.mean():.6f}, ", end="")
    print(f"largest {f.max():.4f}, {known.max():.0f} full generations", flush=True)
    if graph.size <= TRACED + GENERATIONS:
        began = time.perf_counter()
        traced = traced_inbreeding(graph)
        plain = time.perf_counter() - began
        print(f"  by tracing each one's ancestors: {plain:.2f} s, ", end="")
        print(f"ratio {plain / seconds:.0f}, largest difference {np.abs(traced - f).max():.1e}", flush=True)


def measure_prediction(animals: int) -> None:
    """Predict two correlated traits from repeated records of half the animals, and print one paragraph."""
    predict(records(bred(3, 20, 1), 1), factored_below=0, operations=0)
    graph = bred(10, animals // 10, 3)
    model = records(graph, 4)
    began = time.perf_counter()
    found = predict(model, reliabilities=False, factored_below=0)
    middle = time.perf_counter()
    told = predict(model, factored_below=0, operations=0)
    seconds, both = middle - began, time.perf_counter() - middle
    print(f"{graph.size:,} animals, {model.y.shape[0]:,} records of two traits: ", end="")
    print(f"{seconds:.1f} s in {found.steps} steps")
    print(f"  with reliabilities {both:.1f} s, peak {_peak():.2f} GiB; mean reliability {told.reliability.mean():.3f}")
    if graph.size <= PREDICTED[0]:
        began = time.perf_counter()
        exact = predict(model, factored_below=10**9, operations=1e12)
        factored = time.perf_counter() - began
        apart, relied = np.abs(exact.value - found.value).max(), told.reliability - exact.reliability
        print(
            f"  by a sparse factor, reliabilities {exact.how}: {factored:.1f} s, ratio {factored / both:.1f}, ", end=""
        )
        print(f"largest difference {apart:.1e}; approximate reliabilities {relied.mean():+.4f} on average, ", end="")
        print(f"{np.abs(relied).max():.3f} at most", flush=True)


def records(graph: Graph, seed: int) -> Model:
    """Return two records of half the animals, three in ten missing, in twenty groups."""
    rng = np.random.default_rng(seed)
    animal = np.repeat(rng.permutation(graph.size)[: graph.size // 2], 2)
    y = rng.normal(0, 8, (animal.size, 2))
    y[rng.random(y.shape) < 0.3] = np.nan
    fixed = np.eye(20)[rng.integers(20, size=animal.size)]
    genetic, residual = np.array([[20.0, 10.0], [10.0, 30.0]]), np.array([[40.0, 5.0], [5.0, 60.0]])
    return Model(graph, animal, y, fixed, Variances(genetic, residual, np.array([[10.0, 2.0], [2.0, 10.0]])))


def bred(generations: int, size: int, seed: int) -> Graph:
    """Return generations of `size` animals, each bred at random from the chosen parents of the one before."""
    rng = np.random.default_rng(seed)
    sire, dam = (np.full(generations * size, -1, dtype=np.int32) for _ in range(2))
    for first in range(size, generations * size, size):
        born, half = slice(first, first + size), size // 2
        fathers = first - size + rng.choice(half, max(2, size // FATHERS), replace=False)
        mothers = first - half + rng.choice(half, max(2, int(size / MOTHERS)), replace=False)
        sire[born], dam[born] = rng.choice(fathers, size), rng.choice(mothers, size)
    return Graph(sire, dam)


def _peak() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024**2
