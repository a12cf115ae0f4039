"""What a horse's relatives say: ability and trip, predicted from the runs of all of them as two correlated traits.

Every horse that ran gives its own word on both (`own_word`), as sure as its runs make it:

    word = population + X b + u + e_h + error,   var(u) = A x G,   var(e_h) = the rest of what horses differ by

and Henderson's equations carry it over the pedigree (`pedigree.prediction`). Sprint and stay ability are two points of
the curve that ability and trip stand for (`sprint_and_stay`), correlated through both. They are not the records
themselves, because horses are mostly run over what suits them: relatives that each show the same over their own trip
tell nothing by figures at short and long trips, and everything by where those trips lie. A horse's own word is taken
out of what its relatives say: its runs are read one by one elsewhere (`kernel`).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.pedigree.graph import Graph
from upsides.pedigree.prediction import Model, Prediction, Variances, predict
from upsides.trip import curve
from upsides.trip.defaults import Defaults
from upsides.trip.own_word import Words
from upsides.trip.population import Population
from upsides.trip.prior import Relatives, covariance_of, genetic, relatives_from
from upsides.trip.runs import Runs

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

SPRINT_F, STAY_F = 6.0, 9.0
"""Trips, furlongs, over which sprint and stay ability are stated."""


@dataclass(frozen=True, slots=True)
class Family:
    """Genetic values of all animals of a pedigree, in ability (lb) and trip (octaves), from the population's mean.

    Attributes:
        G: (2, 2) genetic covariance of ability and trip.
        value: (n, 2) predicted from all runs, its own included, and
        error: (n, 2, 2) covariance of their errors.
        others: (n, 2) predicted from everybody else's runs, and
        others_error: (n, 2, 2).
        kin: (n,) runs of its sire's and its dam's other offspring.
        foals: (n,) runs of its own offspring.
    """

    G: Floats
    value: Floats
    error: Floats
    others: Floats
    others_error: Floats
    kin: Ints
    foals: Ints


def family(graph: Graph, place: Ints, runs: Runs, words: Words, p: Population, given: Defaults) -> Family:
    """Predict the genetic values of all animals of a pedigree.

    Args:
        graph: the pedigree.
        place: (horses,) where each horse of `runs` stands in it.
        runs: the runs of a library.
        words: what they say of each horse.
        p: its population.
        given: heritabilities.
    """
    G = genetic(p, given)
    rest = covariance_of(p) - G
    told = np.flatnonzero(words.precision.any(axis=(1, 2)))
    sexes = runs.female[told].astype(np.float64)
    fixed = np.column_stack([np.ones(told.size), sexes])[:, : 2 if 0 < sexes.sum() < told.size else 1]
    model = Model(
        graph, place[told], words.word[told], fixed, Variances(G, rest, rest), precision=words.precision[told]
    )
    found = predict(model)
    others, others_error = _without_own(found, model, words.precision[told], rest, G)
    own = np.bincount(place, runs.counts, graph.size).astype(np.int64)
    return Family(
        G=G,
        value=found.value,
        error=found.errors,
        others=others,
        others_error=others_error,
        kin=kin_runs(graph, own),
        foals=foal_runs(graph, own),
    )


def _without_own(found: Prediction, model: Model, precision: Floats, rest: Floats, G: Floats) -> tuple[Floats, Floats]:
    """Return values and errors with each animal's own word taken out.

    A word w of precision L about u + e, e of variance P, multiplies the density of u by exp(-(w - u)' K (w - u) / 2)
    with K = L - L (L + P^-1)^-1 L; taking it out leaves the precision C^-1 - K. Effects of groups are taken as known.
    """
    n = model.graph.size
    own = np.zeros((n, 2, 2))
    own[model.animal] = precision - precision @ np.linalg.inv(precision + np.linalg.inv(rest)) @ precision
    word = np.zeros((n, 2))
    word[model.animal] = model.y - model.fixed @ found.fixed
    known = np.linalg.inv(found.errors)
    least: Floats = np.linalg.inv(G).astype(np.float64)
    error = np.linalg.inv(_no_less(known - own, least)).astype(np.float64)
    pull = known @ found.value[:, :, None] - own @ word[:, :, None]
    return (error @ pull)[:, :, 0], error


def _no_less(precision: Floats, least: Floats) -> Floats:
    """Return precisions raised where an approximate error left less than the prior's own."""
    root = np.linalg.cholesky(least)
    inner = np.linalg.inv(root)
    values, vectors = np.linalg.eigh(inner @ precision @ inner.T)
    raised = (vectors * np.maximum(values, 1.0)[:, None, :]) @ np.swapaxes(vectors, 1, 2)
    return np.asarray(root @ raised @ root.T)


def foal_runs(graph: Graph, own: Ints) -> Ints:
    """Return for each animal the runs of its offspring."""
    sire, dam = graph.sire, graph.dam
    by_sire = np.bincount(sire[sire >= 0], own[sire >= 0], graph.size)
    return np.asarray(by_sire + np.bincount(dam[dam >= 0], own[dam >= 0], graph.size)).astype(np.int64)


def kin_runs(graph: Graph, own: Ints) -> Ints:
    """Return for each animal the runs of its sire's and dam's other offspring, full relatives counted once."""
    sire, dam = graph.sire, graph.dam
    of = foal_runs(graph, own)
    pair = sire.astype(np.int64) * graph.size + dam
    _, which = np.unique(pair, return_inverse=True)
    both = np.bincount(which, own)[which].astype(np.int64)
    out = np.where(sire >= 0, of[sire], 0) + np.where(dam >= 0, of[dam], 0)
    out -= np.where((sire >= 0) & (dam >= 0), both, 0)
    return np.asarray(out - np.where((sire >= 0) | (dam >= 0), own, 0)).astype(np.int64)


def foal_of(G: Floats, parents: Sequence[Relatives], records: int) -> Relatives:
    """Return what known parents say of a foal that is not in the pedigree: half of each, and Mendel's chance.

    Args:
        G: (2, 2) genetic covariance.
        parents: what is known of one or both, their own runs included.
        records: runs of their other offspring.
    """
    mean = sum((parent.mean / 2.0 for parent in parents), np.zeros(2))
    known = sum(((G - parent.covariance) / 4.0 for parent in parents), np.zeros((2, 2)))
    return relatives_from(mean, G - known, G, records)


def sprint_and_stay(p: Population, told: Relatives) -> tuple[float, float]:
    """Return what relatives expect of a horse over short and over long races against the population's usual, lb."""
    at = np.log2([SPRINT_F, STAY_F])
    usual = -curve.loss(at - p.trip, p.short, p.long)
    theirs = told.mean[0] - curve.loss(at - p.trip - told.mean[1], p.short, p.long)
    return float(theirs[0] - usual[0]), float(theirs[1] - usual[1])
