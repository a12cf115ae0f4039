"""Crossed factors against the published penicillin fit, and heavy tails against SciPy."""

import numpy as np
import pytest
from scipy.stats import t as student

from upsides.errors import CannotFitError
from upsides.ratings.factors import Factor, Part, fit_factors

PENICILLIN = np.array(
    [
        "27",
        "23",
        "26",
        "23",
        "23",
        "21",
        "27",
        "23",
        "26",
        "23",
        "23",
        "21",
        "25",
        "21",
        "25",
        "24",
        "24",
        "20",
        "26",
        "23",
        "25",
        "23",
        "23",
        "20",
        "25",
        "22",
        "26",
        "22",
        "23",
        "20",
        "24",
        "22",
        "25",
        "23",
        "22",
        "19",
        "24",
        "20",
        "23",
        "21",
        "22",
        "19",
        "26",
        "22",
        "26",
        "24",
        "24",
        "21",
        "24",
        "21",
        "24",
        "22",
        "22",
        "20",
        "24",
        "21",
        "24",
        "23",
        "22",
        "19",
        "26",
        "23",
        "26",
        "24",
        "24",
        "21",
        "25",
        "22",
        "26",
        "24",
        "24",
        "20",
        "26",
        "24",
        "26",
        "24",
        "25",
        "22",
        "26",
        "23",
        "26",
        "23",
        "23",
        "20",
        "26",
        "23",
        "25",
        "24",
        "24",
        "22",
        "25",
        "22",
        "25",
        "23",
        "23",
        "20",
        "25",
        "21",
        "24",
        "23",
        "23",
        "20",
        "25",
        "22",
        "24",
        "23",
        "23",
        "19",
        "24",
        "21",
        "23",
        "21",
        "21",
        "19",
        "26",
        "23",
        "26",
        "24",
        "24",
        "21",
        "25",
        "21",
        "24",
        "22",
        "22",
        "18",
        "25",
        "22",
        "25",
        "22",
        "22",
        "20",
        "24",
        "21",
        "24",
        "22",
        "24",
        "19",
        "24",
        "21",
        "24",
        "22",
        "21",
        "18",
    ],
    dtype=float,
)
"""Diameters for 24 plates by 6 samples (Davies and Goldsmith 1972), plate by plate."""


def penicillin() -> list[Factor]:
    plate, sample = np.divmod(np.arange(144), 6)
    whole = np.zeros(144, dtype=np.int64)
    return [
        Factor("mean", whole, 1, None),
        Factor("plate", plate, 24, np.nan),
        Factor("sample", sample, 6, np.nan),
    ]


def test_penicillin_gives_the_published_fit() -> None:
    """Spreads, mean and its error, and effects, as printed for the restricted likelihood fit (lme4)."""
    fit = fit_factors(PENICILLIN, penicillin(), precision=1e-7)
    assert fit.sds[1:] == pytest.approx([0.846704, 1.931558], abs=2e-6)
    assert fit.error_sd == pytest.approx(0.549923, abs=1e-6)
    assert fit.effects[0][0] == pytest.approx(22.972222, abs=1e-6)
    assert fit.standard_errors([Part(0, np.zeros(1, dtype=np.int64))])[0] == pytest.approx(0.808573, abs=2e-6)
    assert fit.effects[1][:6] == pytest.approx([0.804547, 0.804547, 0.181672, 0.337391, 0.025953, -0.441203], abs=2e-6)
    assert fit.effects[2] == pytest.approx([2.187058, -1.010476, 1.937900, -0.096895, -0.013842, -3.003744], abs=2e-6)


def test_errors_of_sums_follow_from_the_dense_equations() -> None:
    """The error of a difference of two samples is that of the inverted equations written out."""
    fit = fit_factors(PENICILLIN, penicillin(), precision=1e-7)
    Z = np.hstack([np.ones((144, 1)), np.kron(np.eye(24), np.ones((6, 1))), np.tile(np.eye(6), (24, 1))])
    shrink = np.diag(np.repeat([0, *(fit.error_sd / np.array(fit.sds[1:])) ** 2], [1, 24, 6]))
    C = fit.error_sd**2 * np.linalg.inv(Z.T @ Z + shrink)
    a, b = np.array([0, 1]), np.array([5, 2])
    got = fit.standard_errors([Part(2, a), Part(2, b, -1.0)])
    want = np.sqrt(C[25 + a, 25 + a] + C[25 + b, 25 + b] - 2 * C[25 + a, 25 + b])
    assert got == pytest.approx(want, rel=1e-9)


def test_heavy_tails_agree_with_scipy() -> None:
    """With nothing but a mean, location and scale are those of SciPy's Student's t fit."""
    y = student(3, loc=7, scale=2).rvs(400, random_state=5)
    fit = fit_factors(y, [Factor("mean", np.zeros(400, dtype=np.int64), 1, None)], tail=3)
    _, location, scale = student.fit(y, fdf=3)
    assert fit.effects[0][0] == pytest.approx(location, abs=0.01)
    assert fit.error_sd == pytest.approx(scale, rel=0.01)
    assert fit.weights[np.abs(fit.residuals).argmax()] == fit.weights.min()


def test_a_free_factor_without_a_row_is_refused() -> None:
    """A free label that no row carries has no effect, and the factor is named."""
    with pytest.raises(CannotFitError, match="'mean'"):
        fit_factors([1.0, 2.0], [Factor("mean", np.array([0, 0]), 2, None)])
    with pytest.raises(CannotFitError, match="a value is missing"):
        fit_factors([1.0, np.nan], [Factor("mean", np.array([0, 0]), 1, None)])
