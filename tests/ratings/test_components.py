"""Variance components by restricted maximum likelihood, against lme4 and known truth."""

from pathlib import Path

import numpy as np
import polars as pl
import pytest

from upsides.errors import CannotFitError
from upsides.ratings.components import components_at, fit_components, levels, walks

PENICILLIN = Path(__file__).parent / "data" / "penicillin.csv"


def test_two_crossed_parts_are_lme4s() -> None:
    """The penicillin assay gives lme4's variances, likelihood and levels.

    lme4 1.1 in R, REML: intercept 22.972222, sds 0.846704 (plate), 1.931558 (sample), 0.549923 (residual),
    log-likelihood -165.430294, samples 2.187058 -1.010476 1.937900 -0.096895 -0.013842 -3.003744.
    """
    table = pl.read_csv(PENICILLIN, comment_prefix="#")
    plate = table["plate"].rank("dense").to_numpy().astype(np.int64) - 1
    sample = table["sample"].rank("dense").to_numpy().astype(np.int64) - 1
    y = table["diameter"].to_numpy().astype(np.float64)
    fit = fit_components(y, np.ones((y.size, 1)), [levels("plate", plate, 24), levels("sample", sample, 6)])
    assert fit.converged
    assert np.sqrt([*fit.variances, fit.residual]) == pytest.approx([0.846704, 1.931558, 0.549923], abs=2e-5)
    assert fit.log_likelihood == pytest.approx(-165.430294, abs=1e-6)
    assert fit.fixed == pytest.approx([22.972222], abs=1e-6)
    assert fit.random[1] == pytest.approx([2.187058, -1.010476, 1.937900, -0.096895, -0.013842, -3.003744], abs=2e-5)
    assert np.sqrt(fit.variance_of([[1.0, *np.zeros(30)]])) == pytest.approx([0.808573], abs=2e-5)


def test_a_walk_is_the_local_level_model() -> None:
    """One series with a walk gives the likelihood of the whole series' own covariance matrix, worked out densely."""
    rng = np.random.default_rng(5)
    time = np.cumsum(rng.integers(1, 4, 40)).astype(np.float64)
    y = 3.0 + np.cumsum(rng.normal(0, 0.7, 40)) + rng.normal(0, 0.5, 40)
    fit = fit_components(y, np.ones((40, 1)), [walks("week", np.zeros(40, dtype=np.int64), time)])
    since = time - time[0]
    V = fit.variances[0] * np.minimum(since[:, None], since[None, :]) + fit.residual * np.eye(40)
    inverse, one = np.linalg.inv(V), np.ones(40)
    b = one @ inverse @ y / (one @ inverse @ one)
    r = y - b
    dense = -0.5 * (np.linalg.slogdet(V)[1] + np.log(one @ inverse @ one) + r @ inverse @ r + 39 * np.log(2 * np.pi))
    assert fit.log_likelihood == pytest.approx(dense, abs=1e-8)
    assert fit.fixed == pytest.approx([b], abs=1e-9)


def test_known_variances_come_back() -> None:
    """Of a hundred horses with known walks, gallops and errors of their own, variances come back within a fifth."""
    rng = np.random.default_rng(11)
    horse = np.repeat(np.arange(100), 30)
    time = np.tile(np.arange(30.0), 100)
    gallop = rng.integers(0, 20, 3000)
    known = rng.uniform(0.1, 0.5, 3000) ** 2
    walk = np.cumsum(np.where(time.reshape(100, 30) > 0, rng.normal(0, 0.3, (100, 30)), 0), axis=1).ravel()
    y = 5 + rng.normal(0, 1, 100)[horse] + walk + rng.normal(0, 0.6, 20)[gallop]
    y += rng.normal(0, 0.4, 3000) + rng.normal(0, np.sqrt(known))
    parts = [levels("horse", horse, 100), walks("week", horse, time), levels("gallop", gallop, 20)]
    fit = fit_components(y, np.ones((3000, 1)), parts, known)
    assert np.sqrt([*fit.variances[:2], fit.residual]) == pytest.approx([1.0, 0.3, 0.4], rel=0.2)
    assert np.sqrt(fit.variances[2]) == pytest.approx(0.6, rel=0.45)


def test_records_of_one_time_share_a_level() -> None:
    """Two records of one horse at one time have one level of the walk, and a horse's first record has none."""
    part = walks("week", np.array([0, 0, 0, 1, 1]), np.array([0.0, 2.0, 2.0, 5.0, 6.0]))
    assert part.incidence.toarray().tolist() == [[0, 0], [1, 0], [1, 0], [0, 0], [0, 1]]
    assert part.precision.toarray().tolist() == [[0.5, 0], [0, 1.0]]


def test_too_few_records_are_refused() -> None:
    """Two records for one fixed effect give no variances."""
    with pytest.raises(CannotFitError, match="2 records"):
        fit_components(np.array([1.0, 2.0]), np.ones((2, 1)), [])


def test_a_record_that_is_nobody_s_is_in_no_walk() -> None:
    """Records whose owner is -1 have an empty row, and the walk of the others is as if they were not there."""
    owner, time = np.array([0, -1, 1, 0, -1, 1]), np.array([0.0, 1.0, 2.0, 3.0, 4.0, 5.0])
    known = owner >= 0
    whole, some = walks("barn", owner, time), walks("barn", owner[known], time[known])
    assert not whole.incidence.toarray()[~known].any()
    assert (whole.incidence.toarray()[known] == some.incidence.toarray()).all()
    assert (whole.precision.toarray() == some.precision.toarray()).all()


def test_effects_at_given_variances_are_those_of_the_search() -> None:
    """At the variances that a search found, effects and likelihood are those of the search."""
    rng = np.random.default_rng(4)
    group = rng.integers(0, 8, 200)
    y, X = rng.normal(0, 1, 8)[group] + rng.normal(0, 1, 200), np.ones((200, 1))
    parts = [levels("group", group, 8)]
    found = fit_components(y, X, parts)
    (again,) = components_at(y, X, parts, [np.r_[found.variances, found.residual]])
    assert again.log_likelihood == pytest.approx(found.log_likelihood)
    assert again.random[0] == pytest.approx(found.random[0])
