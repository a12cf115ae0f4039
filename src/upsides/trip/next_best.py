"""What to try or measure next: by how much each would narrow the answer, on average over what it may show."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from upsides.trip.case import Case
from upsides.trip.defaults import GENOTYPES
from upsides.trip.posterior import Posterior, draws
from upsides.trip.prior import gene_effects
from upsides.trip.pulls import range_furlongs
from upsides.trip.scale import furlongs

Floats = NDArray[np.float64]

TRIED_F = (5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 12.0, 14.0, 16.0)
DRAWS, OUTCOMES = 1500, 60
SCORES = (np.array([-1.7321, 0.0, 1.7321]), np.array([1.0, 4.0, 1.0]) / 6.0)
"""Scores of shape with their shares (Gauss and Hermite)."""

RUN_SD = 6.0
"""Error of one run's figure where the library states none, lb."""


@dataclass(frozen=True, slots=True)
class Next:
    """Something to try.

    Attributes:
        what: "run", "gene" or "shape".
        furlongs: over which trip; 0 where it is no run.
        narrows: by how many furlongs it would narrow the 90 % range, on average.
    """

    what: str
    furlongs: float
    narrows: float


def next_best(case: Case, seed: int = 0) -> list[Next]:
    """Return what would tell most, the best first."""
    post = case.answer()
    options = [*_runs(case, post, seed)]
    if case.known.genotype is None or case.known.genotype.max() < 0.99:
        options.append(Next("gene", 0.0, _gene(case)))
    if case.known.shape is None:
        options.append(Next("shape", 0.0, _shape(case)))
    return sorted(options, key=lambda option: -option.narrows)


def _runs(case: Case, post: Posterior, seed: int) -> list[Next]:
    """Return how much one more run over each trip near the answer would tell, by simulation of what it may show."""
    low, high = range_furlongs(post, 0.9)
    noise = case.p.noise * float(case.runs.variance.mean()) if case.runs.y.size else RUN_SD**2
    drawn = draws(post, DRAWS, seed)
    rng = np.random.default_rng(seed + 1)
    true = rng.integers(DRAWS, size=OUTCOMES)
    luck = rng.normal(0.0, np.sqrt(noise), OUTCOMES)
    now = _width(drawn.trip, np.ones((1, DRAWS)))[0]
    found = []
    for tried in TRIED_F:
        if not low <= tried <= high:  # no plan sends a horse over a trip that is known not to be its own
            continue
        shown = drawn.figure(float(np.log2(tried)))
        weight = np.exp(-0.5 * (shown[true, None] + luck[:, None] - shown[None, :]) ** 2 / noise)
        found.append(Next("run", tried, float(now - _width(drawn.trip, weight).mean())))
    return found


def _width(trip: Floats, weight: Floats) -> Floats:
    """Return the width of the 90 % range of weighted draws in furlongs, for each row of weights."""
    order = np.argsort(trip)
    upto = np.cumsum(weight[:, order], axis=1)
    upto = upto / upto[:, -1:]
    at = furlongs(trip[order])
    low = at[np.argmax(upto >= 0.05, axis=1)]
    return np.asarray(at[np.argmax(upto >= 0.95, axis=1)] - low)


def _shape(case: Case) -> float:
    """Return how much scoring its shape would narrow the range, averaged over scores as they come in a population."""
    after = 0.0
    for q, share in zip(*SCORES, strict=True):
        low, high = range_furlongs(replace(case, known=replace(case.known, shape=float(q))).answer(), 0.9)
        after += float(share) * (high - low)
    low, high = range_furlongs(case.answer(), 0.9)
    return (high - low) - after


def _gene(case: Case) -> float:
    """Return how much a gene test would narrow the range, averaged over the genotypes by their chances as of now."""
    share, _, _ = gene_effects(case.p, case.given)
    chances = share if case.known.genotype is None else case.known.genotype
    blurred = replace(case, known=replace(case.known, genotype=chances))
    weight = blurred.answer().weight.sum(axis=(1, 2))
    low, high = range_furlongs(case.answer(), 0.9)
    after = 0.0
    for k in range(len(GENOTYPES)):
        sure = np.full(3, 1e-9)
        sure[k] = 1.0
        less, more = range_furlongs(replace(case, known=replace(case.known, genotype=sure)).answer(), 0.9)
        after += float(weight[k]) * (more - less)
    return (high - low) - after
