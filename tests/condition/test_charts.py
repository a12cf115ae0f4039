"""Both charts against published series, and the width of limits against simulation."""

import numpy as np
import pytest

from upsides.condition.monitoring.charts import cusum, ewma

# NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4
NIST_EWMA = [52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4,
             53.6, 52.1]  # fmt: skip
NIST_EWMA_MEANS = [50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05,
                   49.38, 49.92, 50.73, 51.23, 51.94, 51.99]  # fmt: skip
# The same, 6.3.2.3
NIST_CUSUM = [324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600, 324.625,
              325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350]  # fmt: skip
NIST_HIGH = [0, 0, 0, 0, 0.03, 0, 0, 0, 0, 0, 0, 0, 3.01, 4.94, 7.45, 10.63, 11.99, 14.44, 16.00, 19.04]
NIST_LOW = [0, 0.01, 0, 0.33, 0, 0, 0.56, 0.72, 0.17, 0.25, 0.31, 0, 0, 0, 0, 0, 0, 0, 0, 0]
# Montgomery and Runger, Applied Statistics and Probability for Engineers, chapter 16
CONCENTRATION = [102.0, 94.8, 98.3, 98.4, 102.0, 98.5, 99.0, 97.7, 100.0, 98.1, 101.3, 98.7, 101.1, 98.4, 97.0, 96.7,
                 100.3, 101.4, 97.2, 101.0]  # fmt: skip
CONCENTRATION_HIGH = [2, 0, 0, 0, 2, 0.5, 0, 0, 0, 0, 1.3, 0, 1.1, 0, 0, 0, 0.3, 1.7, 0, 1]
CONCENTRATION_LOW = [0, 3.2, 2.9, 2.5, 0, 0, 0, 0.3, 0, 0, 0, 0, 0, 0, 1.0, 2.3, 0, 0, 0.8, 0]


def test_weighted_mean_of_the_handbook() -> None:
    """The handbook's series has its printed means, limits of 52.5884 and 47.4116, ends at 51.99 and never alarms.

    The handbook prints the lower limit as 47.4115, cut off.
    """
    found = ewma(np.array(NIST_EWMA), 50.0, 2.0539, 0.3, 3.0)
    assert found.mean == pytest.approx(NIST_EWMA_MEANS, abs=0.00501)
    assert found.mean[-1] == pytest.approx(51.99, abs=0.005)
    assert (found.high[-1], found.low[-1]) == pytest.approx((52.5884, 47.4116), abs=5e-5)
    assert ((found.mean < found.high) & (found.mean > found.low)).all()


def test_sums_of_the_handbook() -> None:
    """The handbook's series has its printed sums, and first passes 4.1959 at the 14th, where all that follow stay."""
    found = cusum(np.array(NIST_CUSUM), 325.0, 0.3175)
    assert found.high == pytest.approx(NIST_HIGH, abs=0.00501)
    assert found.low == pytest.approx(NIST_LOW, abs=0.00501)
    over = np.flatnonzero((found.high > 4.1959) | (found.low > 4.1959)) + 1
    assert over.tolist() == list(range(14, 21))
    assert found.high[-1] == pytest.approx(19.04, abs=0.011)


def test_sums_of_the_textbook() -> None:
    """The textbook's concentrations have its sums, and stay below 10 throughout."""
    found = cusum(np.array(CONCENTRATION), 99.0, 1.0)
    assert found.high == pytest.approx(CONCENTRATION_HIGH, abs=1e-9)
    assert found.low == pytest.approx(CONCENTRATION_LOW, abs=1e-9)
    assert max(found.high.max(), found.low.max()) < 10.0


def test_limits_are_exact_from_the_first_reading_on() -> None:
    """Over simulated series each mean's spread is that which the limits stand for, at every reading.

    sqrt(w / (2 - w) (1 - (1 - w)^(2 i))) beside 10,000 series; four standard errors of a standard deviation.
    """
    rng = np.random.default_rng(3)
    series = rng.normal(0.0, 1.0, (10_000, 12))
    found = np.array([ewma(one, 0.0, 1.0, 0.2, 1.0).mean for one in series])
    i = np.arange(1, 13)
    exact = np.sqrt(0.2 / 1.8 * (1.0 - 0.8 ** (2 * i)))
    assert ewma(series[0], 0.0, 1.0, 0.2, 1.0).high == pytest.approx(exact, abs=1e-12)
    assert (np.abs(found.std(axis=0) - exact) < 4.0 * exact / np.sqrt(2 * 10_000)).all()
