"""What is thought of a horse before it runs: population, relatives and gene, taken jointly."""

from datetime import date

import numpy as np
import pytest

from upsides.trip.defaults import defaults
from upsides.trip.population import Population
from upsides.trip.prior import LEAST_LEFT, Relatives, covariance_of, gene_effects, genetic, prior

GIVEN = defaults(date(2026, 1, 1))
P = Population(trip=3.05, trip_sd=0.4, ability=70.0, ability_sd=10.0, ridge=-4.0)
CENTRE = (70.0, 3.05)


def _said(trip: float, reliability: float) -> Relatives:
    """Return relatives that speak of trip alone, with a given reliability."""
    G = genetic(P, GIVEN)
    noise = np.diag([1e6, G[1, 1] * (1 - reliability) / reliability])
    error = np.linalg.inv(np.linalg.inv(G) + np.linalg.inv(noise))
    return Relatives(error @ np.linalg.solve(noise, [0.0, trip]), error, np.array([0.0, reliability]), 50)


def test_without_relatives_it_is_the_population() -> None:
    """A horse of which nothing is known has the population's mean, spread and ridge."""
    before = prior(P, GIVEN, centre=CENTRE)
    assert before.mean[0] == pytest.approx(CENTRE)
    assert before.covariance[0] == pytest.approx(covariance_of(P), rel=1e-9)


def test_relatives_that_know_nothing_change_nothing() -> None:
    """Relatives of no reliability leave the prior as it was, with and without the gene."""
    nothing = Relatives(np.zeros(2), genetic(P, GIVEN), np.zeros(2), 0)
    for genotype in (None, np.array([0.2, 0.5, 0.3])):
        with_them = prior(P, GIVEN, centre=CENTRE, relatives=nothing, genotype=genotype)
        without = prior(P, GIVEN, centre=CENTRE, genotype=genotype)
        assert with_them.weight == pytest.approx(without.weight, abs=1e-9)
        assert with_them.mean == pytest.approx(without.mean, abs=1e-9)
        assert with_them.covariance == pytest.approx(without.covariance, rel=1e-6)


def test_a_familys_word_is_the_textbooks_index() -> None:
    """With reliability r2 of the breeding value the trip's variance falls by r2 h2 of it (selection index theory)."""
    told = prior(P, GIVEN, centre=CENTRE, relatives=_said(0.3, 0.6))
    left = 1.0 - 0.6 * GIVEN.heritability_trip
    assert told.covariance[0, 1, 1] == pytest.approx(left * P.trip_sd**2, rel=1e-3)
    assert told.mean[0, 1] == pytest.approx(CENTRE[1] + 0.6 * 0.3, rel=1e-3)


def test_the_gene_has_the_tables_share_of_the_variance() -> None:
    """Shifts by genotype keep the order and the share of the variance of the editable table, and centre on none."""
    share, shift, spread = gene_effects(P, GIVEN)
    mean = np.log2(GIVEN.gene_mean)
    within = (np.array(GIVEN.gene_spread) / np.array(GIVEN.gene_mean) / np.log(2.0)) ** 2
    table = share @ (mean - share @ mean) ** 2
    assert share @ shift == pytest.approx(0.0, abs=1e-12)
    assert (share @ shift**2) / P.trip_sd**2 == pytest.approx(table / (table + share @ within))
    assert shift[0] < shift[1] < shift[2]
    assert share @ spread == pytest.approx(1.0)


def test_a_gene_that_is_part_of_the_family_counts_once() -> None:
    """Relatives and a genotype together give what horses of that genotype and that word are in a simulated world.

    In it gene, other genes and chance are drawn, and relatives speak of the sum of the genes.
    """
    rng, count = np.random.default_rng(5), 3_000_000
    share, shift, spread = gene_effects(P, GIVEN)
    G = genetic(P, GIVEN)[1, 1]
    left = max(LEAST_LEFT, 1.0 - float(share @ shift**2) / G)
    genotype = rng.choice(3, count, p=share)
    wide = np.sqrt(spread[genotype])
    u = rng.normal(0, 1, count) * np.sqrt(G * left) * wide
    e = rng.normal(0, 1, count) * np.sqrt(P.trip_sd**2 - G) * wide
    reliability, word = 0.5, -0.3
    heard = shift[genotype] + u + rng.normal(0, np.sqrt(G * (1 - reliability) / reliability), count)
    near = np.abs(heard - word) < 0.02
    for k in range(3):
        picked = (shift[genotype] + u + e)[near & (genotype == k)]
        told = prior(P, GIVEN, centre=CENTRE, relatives=_said(word, reliability), genotype=np.eye(3)[k] + 1e-12)
        ours = told.weight @ told.mean[:, 1] - CENTRE[1]
        assert abs(ours - picked.mean()) < 4 * picked.std() / np.sqrt(picked.size) + 0.003
    chances = np.bincount(genotype[near], minlength=3) / near.sum()
    untested = prior(P, GIVEN, centre=CENTRE, relatives=_said(word, reliability), genotype=share)
    assert untested.weight == pytest.approx(chances, abs=0.01)


def test_a_known_genotype_narrows_and_moves() -> None:
    """C/C horses are shorter and narrower than T/T, and each overlaps the other: a genotype does not set a trip."""
    short, long = (prior(P, GIVEN, centre=CENTRE, genotype=np.eye(3)[k] + 1e-12) for k in (0, 2))
    (m1, v1), (m2, v2) = ((p.weight @ p.mean[:, 1], p.weight @ p.covariance[:, 1, 1]) for p in (short, long))
    assert m1 < m2
    assert v1 < v2
    assert m2 - m1 < 2.5 * (np.sqrt(v1) + np.sqrt(v2))
