"""Average run lengths against published tables, a Markov chain of our own and simulation."""

import numpy as np
import pytest
from scipy.special import ndtr

from upsides.condition.monitoring.run_lengths import cusum_limit, cusum_run_length, ewma_run_length, ewma_width

# Crowder 1987, Technometrics 29:401, table 1: shift, weights 0.5 and 0.05, both with a width of 2
CROWDER = [(0.0, 26.45, 127.53), (0.25, 20.12, 43.94), (0.5, 11.89, 18.97), (1.0, 4.91, 8.38), (2.0, 1.94, 4.04),
           (4.0, 1.05, 2.15)]  # fmt: skip
# Lucas and Saccucci 1990, Technometrics 32:1, table 3: shift, weight 0.5 with 3.071, weight 0.03 with 2.437
LUCAS = [(0.0, 500.0, 500.0), (0.25, 255.0, 76.7), (0.5, 88.8, 29.3), (1.0, 17.5, 12.6), (2.0, 3.63, 5.99)]
# Lucas and Crosier 1982, Technometrics 24:199, table 1: allowance 0.5, limit 4, both sides
CROSIER = [(0.0, 168.0), (0.25, 74.2), (0.5, 26.6), (0.75, 13.3), (1.0, 8.38), (1.5, 4.75), (2.0, 3.34), (3.0, 2.19)]
# Vance 1986, J. Qual. Technol. 18:189, table 1: allowance 0, limit 10, one side
VANCE = [(-0.25, 2071.51), (0.0, 124.66), (0.25, 36.71), (0.5, 20.37), (1.0, 10.75)]


@pytest.mark.parametrize(("shift", "half", "twentieth"), CROWDER)
def test_weighted_mean_as_crowder(shift: float, half: float, twentieth: float) -> None:
    """Run lengths of the weighted mean are those of Crowder's table to its two decimals; 1.945 is printed as 1.94."""
    assert ewma_run_length(0.5, 2.0, shift) == pytest.approx(half, abs=0.0055)
    assert ewma_run_length(0.05, 2.0, shift) == pytest.approx(twentieth, abs=0.00501)


@pytest.mark.parametrize(("shift", "half", "light"), LUCAS)
def test_weighted_mean_as_lucas_and_saccucci(shift: float, half: float, light: float) -> None:
    """Run lengths are those of the table of Lucas and Saccucci to its three digits."""
    assert ewma_run_length(0.5, 3.071, shift) == pytest.approx(half, rel=0.0015)
    assert ewma_run_length(0.03, 2.437, shift) == pytest.approx(light, rel=0.0035)


def test_weighted_mean_to_many_digits() -> None:
    """With a weight of 0.25, a width of 3 and a shift of 1 the run length is 11.154267016 (SAS/QC manual 1999)."""
    assert ewma_run_length(0.25, 3.0, 1.0) == pytest.approx(11.154267016, abs=5e-10)


@pytest.mark.parametrize(("shift", "length"), CROSIER)
def test_sum_as_lucas_and_crosier(shift: float, length: float) -> None:
    """Run lengths of both sums are those of Lucas and Crosier to their three digits."""
    assert cusum_run_length(0.5, 4.0, shift) == pytest.approx(length, rel=0.0025)


@pytest.mark.parametrize(("shift", "length"), VANCE)
def test_sum_as_vance(shift: float, length: float) -> None:
    """Run lengths of one sum are those of Vance's table to five digits."""
    assert cusum_run_length(0.0, 10.0, shift, both=False) == pytest.approx(length, rel=4e-5, abs=0.00501)


def test_sum_to_many_digits() -> None:
    """With an allowance of 0.25, a limit of 8 and a shift of 2.5 one sum runs 4.150084 (SAS/QC manual 1999).

    The manual prints 4.1500836225; from 30 points on ours stays at 4.1500837261.
    """
    assert cusum_run_length(0.25, 8.0, 2.5, both=False) == pytest.approx(4.1500836225, abs=2e-7)


def test_sum_against_a_markov_chain() -> None:
    """A chain of 400 states gives the same run length to 0.2 %, for allowances and shifts of no table.

    Brook and Evans 1972, Biometrika 59:539; their own 117.59 for an allowance of 0.5 and a limit of 3 is met too.
    """
    for allowance, limit, shift in ((0.5, 3.0, 0.0), (0.7, 2.6, 0.3), (0.4, 5.2, -0.1)):
        assert cusum_run_length(allowance, limit, shift, both=False) == pytest.approx(
            chain(allowance, limit, shift), rel=0.002
        )
    assert cusum_run_length(0.5, 3.0, both=False) == pytest.approx(117.59, abs=0.01)


def chain(allowance: float, limit: float, shift: float, states: int = 400) -> float:
    """Return the run length of one sum by a Markov chain over slices of its values."""
    width = 2.0 * limit / (2 * states - 1)
    at = width * np.arange(states)
    high = ndtr(at[None, :] + width / 2 - at[:, None] + allowance - shift)
    low = ndtr(at[None, :] - width / 2 - at[:, None] + allowance - shift)
    move = high - low
    move[:, 0] = high[:, 0]
    return float(np.linalg.solve(np.eye(states) - move, np.ones(states))[0])


def test_one_side_of_the_mean_against_simulation() -> None:
    """With only the upper limit watched simulated series run as long as is said, within four standard errors."""
    rng = np.random.default_rng(8)
    n, weight, width, shift = 20_000, 0.2, 2.2, 0.2
    spread = np.sqrt(weight / (2.0 - weight))
    mean, length, going = np.zeros(n), np.zeros(n), np.ones(n, dtype=np.bool_)
    while going.any():
        mean = np.maximum((1.0 - weight) * mean + weight * rng.normal(shift, 1.0, n), -4.0 * spread)
        length += going
        going &= mean < width * spread
    said = ewma_run_length(weight, width, shift, both=False)
    assert abs(length.mean() - said) < 4.0 * length.std() / np.sqrt(n)


def test_limits_have_the_run_length_asked_for() -> None:
    """A limit that is found for a run length has it, one-sided and two-sided, from 20 readings to a million."""
    for length in (20.0, 370.0, 1e4, 1e6):
        for both in (True, False):
            assert ewma_run_length(0.2, ewma_width(0.2, length, both=both), both=both) == pytest.approx(length, 1e-5)
            assert cusum_run_length(0.5, cusum_limit(0.5, length, both=both), both=both) == pytest.approx(length, 1e-5)
