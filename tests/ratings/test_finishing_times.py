"""Normal and gamma models against published orders and closed forms."""

import csv
from pathlib import Path

import numpy as np
import pytest
from scipy.special import ndtr
from scipy.stats import multivariate_normal

from upsides.errors import CannotFitError
from upsides.ratings.finishing_times import gamma_places, normal_places
from upsides.ratings.orders import place_probabilities

DATA = Path(__file__).parent / "data"


def published_places(model: str) -> np.ndarray:
    """Add the six printed orders of three runners up to places."""
    places = np.zeros((3, 3))
    with (DATA / "finishing_orders.csv").open() as file:
        next(file)
        for row in csv.DictReader(file):
            if row["case"] == "three_runners" and row["model"] == model:
                places[[int(c) - 1 for c in row["item"]], range(3)] += float(row["value"])
    return places


def test_normal_model_gives_the_published_orders() -> None:
    """The means printed for win chances 1/2, 1/3, 1/6 (lowest time wins) give the printed places."""
    found = normal_places(-np.array([-0.846042, -0.509189, 0.0]), 1.0)
    assert found == pytest.approx(published_places("normal"), abs=2e-6)
    assert found[0, 1] == pytest.approx(0.319294, abs=2e-6)
    assert found[2, 2] == pytest.approx(0.532, abs=5e-4)


@pytest.mark.parametrize(("shape", "rate"), [(2, (2.01218, 1.543363, 1)), (4, (1.592234, 1.330685, 1))])
def test_gamma_model_gives_the_published_orders(shape: int, rate: tuple[float, ...]) -> None:
    """The rates printed for win chances 1/2, 1/3, 1/6 give the printed places (Stern 1990)."""
    assert gamma_places(rate, shape) == pytest.approx(published_places(f"gamma_r{shape}"), abs=2e-6)


def test_gamma_of_shape_one_is_harville() -> None:
    """Exponential times are Harville's model, to ten digits, and far outsiders keep the sum."""
    rate = np.random.default_rng(4).gamma(0.7, size=(3, 14))
    assert gamma_places(rate, 1) == pytest.approx(place_probabilities(rate), abs=1e-10)


def test_two_normal_runners_have_a_closed_form() -> None:
    """With two runners of unequal sds the chance is the normal integral of the difference."""
    found = normal_places([[1.0, 0.0], [5.0, 0.0]], [0.3, 4.0], places=2)
    assert found[:, 0, 0] == pytest.approx(ndtr(np.array([1, 5]) / np.hypot(0.3, 4.0)), abs=1e-12)
    assert found.sum(axis=1) == pytest.approx(np.ones((2, 2)), abs=1e-12)


def test_three_unequal_normals_agree_with_the_bivariate_integral() -> None:
    """Winning means beating both others: SciPy's bivariate normal says the same."""
    mean, sd = np.array([2.0, 1.0, -1.0]), np.array([1.0, 2.0, 3.0])
    cov = [[sd[0] ** 2 + sd[1] ** 2, sd[0] ** 2], [sd[0] ** 2, sd[0] ** 2 + sd[2] ** 2]]
    beats_both = multivariate_normal([0, 0], cov).cdf([mean[0] - mean[1], mean[0] - mean[2]])
    assert normal_places(mean, sd)[0, 0] == pytest.approx(beats_both, abs=1e-6)


def test_equal_runners_share_every_place() -> None:
    """Twenty equal runners have a twentieth of each place."""
    assert normal_places(np.full(20, 90.0), 9.0, places=4) == pytest.approx(np.full((20, 4), 0.05), abs=1e-11)


def test_every_place_is_filled_in_a_large_field() -> None:
    """With all places asked for, runners and places both sum to one."""
    rng = np.random.default_rng(9)
    found = normal_places(rng.normal(0, 10, 24), rng.uniform(4, 12, 24), places=24)
    assert found.sum(axis=0) == pytest.approx(np.ones(24), abs=1e-9)
    assert found.sum(axis=1) == pytest.approx(np.ones(24), abs=1e-9)


def test_spread_of_nothing_is_refused() -> None:
    """A standard deviation of 0 is named."""
    with pytest.raises(CannotFitError, match="sd is not above 0"):
        normal_places([1.0, 2.0], [1.0, 0.0])
