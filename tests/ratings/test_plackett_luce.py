"""Worths from finishing orders against published fits."""

from pathlib import Path

import numpy as np
import pytest

from upsides.errors import CannotFitError
from upsides.ratings.choice import fit_choice
from upsides.ratings.plackett_luce import fit_worths

DATA = Path(__file__).parent / "data"
CITED = (
    ("Biometrika", (714, 730, 498, 221)),
    ("CommStat", (33, 425, 68, 17)),
    ("JASA", (320, 813, 1072, 142)),
    ("JRSSB", (284, 276, 325, 188)),
)
"""How often the column's journal cites the row's (Stigler 1994, Statistical Science 9:94-108)."""


def nascar(last_kept: int) -> np.ndarray:
    table = np.loadtxt(DATA / "plackett_luce_nascar.csv", delimiter=",", skiprows=2, dtype=int)[:, 1:]
    kept = [[driver - 1 for driver in race if driver <= last_kept] for race in table]
    return np.array([race + [-1] * (43 - len(race)) for race in kept])


def test_stock_cars_give_the_published_fit() -> None:
    """The example of Hunter (2004) comes out to its log-likelihood and to every log worth printed."""
    fit = fit_worths(nascar(83))
    published = np.loadtxt(DATA / "plackett_luce_nascar_fit.csv", delimiter=",", skiprows=2)[:, 1]
    assert fit.log_likelihood == pytest.approx(-4191.097285, abs=1e-6)
    assert fit.log_worth - fit.log_worth[0] == pytest.approx(published, abs=1e-6)


def test_stock_cars_agree_with_the_printed_table() -> None:
    """Ordered by mean place, first and last three log worths are those of Hunter's Table 2."""
    orders = nascar(83)
    fit = fit_worths(orders)
    whole = nascar(87)
    mean_place = np.array([np.nonzero(whole == driver)[1].mean() for driver in range(83)])
    ordered = (fit.log_worth - fit.log_worth[0])[np.argsort(mean_place, kind="stable")]
    assert ordered[:3] == pytest.approx([4.15, 3.62, 2.08], abs=0.005)
    assert ordered[-3:] == pytest.approx([0.03, -0.31, -0.15], abs=0.005)


def test_always_last_is_refused_unless_shrunk() -> None:
    """Competitors that finished last every time are named, and get a finite worth when shrunk."""
    with pytest.raises(CannotFitError, match="competitors 83, 84, 85, 86"):
        fit_worths(nascar(87))
    fit = fit_worths(nascar(87), shrink=0.5)
    assert np.isfinite(fit.log_worth).all()
    assert fit.log_worth[83:].max() < np.median(fit.log_worth)


def test_citations_give_the_published_abilities() -> None:
    """Paired comparison: abilities and errors printed for the journals (BradleyTerry2; Agresti)."""
    pairs = [(i, j, n) for i, (_, row) in enumerate(CITED) for j, n in enumerate(row) if i != j]
    fit = fit_worths([(i, j) for i, j, _ in pairs], weights=[n for _, _, n in pairs])
    found = [fit.difference(journal, 0) for journal in (1, 2, 3)]
    assert [value for value, _ in found] == pytest.approx([-2.949073, -0.479570, 0.268954], abs=1e-6)
    assert [error for _, error in found] == pytest.approx([0.102545, 0.060589, 0.070830], abs=1e-6)


def test_partial_rankings_are_rank_exploded_choices() -> None:
    """Three known places of seven give the same worths as a conditional logit with one column a
    competitor."""
    rng = np.random.default_rng(8)
    orders = np.array([rng.permutation(7) for _ in range(40)])
    fit = fit_worths(orders, ranked=np.full(40, 3))
    position = np.tile([1.0, 2, 3, 0, 0, 0, 0], 40)
    logit = fit_choice(np.eye(7)[orders.ravel()][:, 1:], np.arange(0, 281, 7), position, place_weights=(1, 1, 1))
    assert fit.log_worth[1:] - fit.log_worth[0] == pytest.approx(logit.coefficients, abs=1e-6)
    assert fit.log_likelihood == pytest.approx(logit.log_likelihood, abs=1e-9)
    assert [fit.difference(i, 0)[1] for i in range(1, 7)] == pytest.approx(logit.standard_errors, abs=1e-6)


def test_shrinking_is_an_imaginary_competitor() -> None:
    """Shrinking gives what contests written out against one more competitor give."""
    orders = [(0, 1), (0, 1), (1, 0), (0, 2), (2, 1)]
    against = [pair for i in range(3) for pair in ((i, 3), (3, i))]
    by_hand = fit_worths(orders + against, weights=[1.0] * 5 + [0.5] * 6)
    fit = fit_worths(orders, shrink=0.5)
    assert fit.log_worth == pytest.approx(by_hand.log_worth[:3] - by_hand.log_worth[3], abs=1e-7)
    assert np.sqrt(fit.covariance[0, 0]) == pytest.approx(by_hand.difference(0, 3)[1], abs=1e-7)


def test_a_gap_in_an_order_is_refused() -> None:
    """Padding inside an order is named instead of being read as a place."""
    with pytest.raises(CannotFitError, match="then only -1"):
        fit_worths([[0, -1, 1], [1, 0, 2]])
