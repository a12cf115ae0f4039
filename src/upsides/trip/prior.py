"""What is thought of a horse's best trip and ability before its own runs: population, family and gene, taken jointly.

Best trip d (octaves) and ability a (lb) of a horse are

    (a, d) = population mean + (0, gene) + (a_u, d_u) + (a_e, d_e)

gene what its genotype adds, u what it has from its ancestors beside it, e the rest. Relatives' records speak of the
horse's whole genetic value, gene + u; its own genotype, where known, splits that value. So a gene that is part of a
family counts once. Given the genotype everything is normal; over genotypes the prior is a mixture.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.trip.defaults import Defaults
from upsides.trip.genotypes import hardy_weinberg
from upsides.trip.population import Population

Floats = NDArray[np.float64]

LEAST_LEFT = 0.1
"""Share of the genetic variance of trip that is left beside the gene at the least."""


@dataclass(frozen=True, slots=True)
class Relatives:
    """What relatives say of a horse's genetic value (ability lb, trip octaves), its own runs left out.

    Attributes:
        mean: (2,) expected value.
        covariance: (2, 2) of its error; the genetic covariance itself where relatives say nothing.
        reliability: (2,) share of the genetic variance that is known.
        records: runs of relatives behind it, at most those of the library.
    """

    mean: Floats
    covariance: Floats
    reliability: Floats
    records: int


def relatives_from(mean: Floats, covariance: Floats, G: Floats, records: int) -> Relatives:
    """Return what relatives say, its reliability told against the genetic covariance G (2, 2)."""
    known = 1.0 - np.diag(covariance) / np.diag(G)
    return Relatives(mean, covariance, np.clip(known, 0.0, 1.0), records)


@dataclass(frozen=True, slots=True)
class Mixture:
    """A mixture of normals over (ability, trip).

    Attributes:
        weight: (parts,) shares.
        mean: (parts, 2).
        covariance: (parts, 2, 2).
    """

    weight: Floats
    mean: Floats
    covariance: Floats


def covariance_of(p: Population) -> Floats:
    """Return the covariance (2, 2) of ability and trip between horses."""
    across = p.ridge * p.trip_sd**2
    return np.array([[p.ability_sd**2 + p.ridge * across, across], [across, p.trip_sd**2]])


def genetic(p: Population, given: Defaults) -> Floats:
    """Return the genetic part (2, 2) of `covariance_of`: the heritabilities on its diagonal, correlations kept."""
    root = np.sqrt([given.heritability_ability, given.heritability_trip])
    return np.asarray(covariance_of(p) * np.outer(root, root))


def gene_effects(p: Population, given: Defaults) -> tuple[Floats, Floats, Floats]:
    """Return by genotype: shares (Hardy and Weinberg), shifts of the trip in octaves, and spreads beside the gene.

    The table's means are centred, and drawn together or apart so that the gene has the same share of the variance of
    trips here as in the table. Spreads are variances against the usual one.
    """
    share = hardy_weinberg(given.gene_share)
    mean = np.log2(given.gene_mean)
    within = (np.array(given.gene_spread) / np.array(given.gene_mean) / np.log(2.0)) ** 2
    centred = mean - share @ mean
    between, usual = share @ centred**2, share @ within
    scale = p.trip_sd / np.sqrt(between + usual)
    return share, centred * scale, within / usual


def prior(
    p: Population, given: Defaults, *, centre: tuple[float, float], relatives: Relatives | None = None,
    genotype: Floats | None = None,
) -> Mixture:  # fmt: skip
    """Return the prior of one horse.

    Args:
        p: the population.
        given: heritabilities and the gene.
        centre: mean ability (lb) and trip (octaves) of the horse's group of the population.
        relatives: what relatives say; None for nothing.
        genotype: (3,) chances of C/C, C/T, T/T; None where the gene is not asked.
    """
    whole, from_parents = covariance_of(p), genetic(p, given)
    rest = whole - from_parents
    if genotype is None:
        chances, shift, spread, left = np.ones(1), np.zeros(1), np.ones(1), 1.0
    else:
        share, shift, spread = gene_effects(p, given)
        chances = np.asarray(genotype, dtype=np.float64)
        left = max(LEAST_LEFT, 1.0 - float(share @ shift**2) / from_parents[1, 1])
    parts = [
        _part(c, s, k, left, from_parents, rest, relatives) for c, s, k in zip(chances, shift, spread, strict=True)
    ]
    weight = np.array([part[0] for part in parts])
    mean = np.array([part[1] for part in parts]) + np.array(centre)
    return Mixture(weight / weight.sum(), mean, np.array([part[2] for part in parts]))


def _part(
    chance: float, shift: float, spread: float, left: float, from_parents: Floats, rest: Floats,
    relatives: Relatives | None,
) -> tuple[float, Floats, Floats]:  # fmt: skip
    """Return one genotype's weight, mean and covariance, relatives' word taken in."""
    beside = np.sqrt([1.0, left * spread])
    u = from_parents * np.outer(beside, beside)
    e = rest * np.outer([1.0, np.sqrt(spread)], [1.0, np.sqrt(spread)])
    mean = np.array([0.0, shift])
    if relatives is None:
        return chance, mean, u + e
    known, whole = np.linalg.inv(relatives.covariance), np.linalg.inv(from_parents)
    precision, pull = known - whole, known @ relatives.mean
    inside = np.linalg.inv(np.linalg.inv(u) + precision)
    at = inside @ (np.linalg.solve(u, mean) + pull)
    log = 0.5 * (at @ np.linalg.solve(inside, at) - mean @ np.linalg.solve(u, mean))
    log += 0.5 * (np.linalg.slogdet(inside)[1] - np.linalg.slogdet(u)[1])
    return chance * float(np.exp(np.clip(log, -300.0, 300.0))), at, inside + e
